//! How are the round's results shown? Values in, SVG drawings and self-contained HTML pages out.

mod authority_part;
pub mod card_page;
pub mod card_pdf;
pub mod day_page;
pub mod directions_drawing;
mod drive_part;
pub mod launch_page;
mod launch_plots;
mod learn_answers;
pub mod learn_page;
pub mod learn_plots;
pub mod number;
pub mod page;
pub mod paper;
pub mod plot;
pub mod predict_page;
pub mod read_page;
pub mod record_page;
mod response_part;
mod stall_part;
pub mod story;
pub mod svg;
pub mod three_view;
pub mod ticks;
