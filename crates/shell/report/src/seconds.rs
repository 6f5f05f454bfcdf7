//! Which seconds of the recording does a finding rest on? In words, and as links into its plots where there are any.

use aircraft::finding::Window;
use maud::{Markup, html};

use crate::number;

/// Windows named one by one; more are counted.
const NAMED: usize = 8;

/// Where the seconds of a recording can be looked at.
#[derive(Debug, Clone, Copy, Default)]
pub struct Seconds<'a> {
    /// Address of the recording's plots; none where the page stands alone.
    pub plots: Option<&'a str>,
}

impl Seconds<'_> {
    /// The windows that something rests on; each leads to the plots of these channels (quantity words with commas
    /// between), with a little of what was before and after.
    #[must_use]
    pub fn rests_on(self, windows: &[Window], channels: &str) -> Markup {
        let more = windows.len().saturating_sub(NAMED);
        html! {
            @if !windows.is_empty() {
                p.note {
                    "Rests on "
                    @for (i, window) in windows.iter().take(NAMED).enumerate() {
                        @if i > 0 { ", " }
                        (self.window(window, channels))
                    }
                    @if more > 0 { " and " (more) " more" }
                    "."
                }
            }
        }
    }

    /// One window.
    #[must_use]
    pub fn window(self, window: &Window, channels: &str) -> Markup {
        let words = format!("{} to {} s", number::fixed(window.from_s, 0), number::fixed(window.to_s, 0));
        let around = (0.15 * (window.to_s - window.from_s)).max(0.5);
        html! {
            @match self.plots {
                Some(plots) if around.is_finite() => {
                    a href={
                        (plots) "?from=" (format!("{:.2}", window.from_s - around)) "&to="
                        (format!("{:.2}", window.to_s + around)) "&channels=" (channels) "#plots"
                    } { (words) }
                }
                _ => (words),
            }
        }
    }
}

/// The channels that show best what an answer is made from, by its key.
/// Quantity words with commas between.
#[must_use]
pub fn channels_of(key: &str) -> &'static str {
    let is = |word: &str| key.contains(word);
    if is("battery") || is("endurance") || is("power") || is("thrust") {
        "volts,amps,throttle"
    } else if is("stall") || is("lift") {
        "airspeed,pitch,force-z,stick-pitch"
    } else if is("landing") {
        "height,altitude,force-z,ground-speed"
    } else if is("polar") || is("drag") || is("glide") {
        "airspeed,height,altitude,throttle"
    } else {
        "airspeed,height,altitude,roll,pitch"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_that_stands_alone_has_no_links_and_one_with_plots_leads_to_them() {
        let windows = [Window { from_s: 10.0, to_s: 20.0 }];
        let alone = Seconds::default().rests_on(&windows, "roll").into_string();
        assert!(alone.contains("10 to 20 s") && !alone.contains("href"));
        let linked = Seconds { plots: Some("/a/1") }.rests_on(&windows, "roll,pitch").into_string();
        // By hand: 15 % of 10 s on either side.
        assert!(linked.contains("/a/1?from=8.50&amp;to=21.50&amp;channels=roll,pitch#plots"), "{linked}");
    }
}
