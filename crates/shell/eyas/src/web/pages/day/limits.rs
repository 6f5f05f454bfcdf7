//! What does this aircraft bear? Each limit with its number and where it comes from, and a field to set one's own.

use maud::{Markup, html};
use plan::day::limits::Limit;

use super::asked::{limit_field, plainly};
use crate::web::controls::Wrong;
use crate::web::fields::Fields;
use crate::web::shell::capital;

/// The limits; their fields belong to the form that tells the day.
pub(super) fn part(limits: &[Limit], fields: &Fields, wrong: &Wrong) -> Markup {
    html! {
        h2 id="limits" { "What this aircraft bears" }
        p { "Within the first number everything may be flown, up to the second a part as its words say, beyond it nothing. A number of \
            your own takes the place of the second." }
        div.warn { p { "A limit that is made looser than the one that follows from the aircraft is said so in the verdict, on the card, and in the \
            record that is kept of the card. Tighten as you like." } }
        table.stack.wide.limits {
            thead { tr {
                th { "Limit of" } th { "Everything" } th { "A part" } th { "Where it comes from" } th { "Your own" }
            } }
            tbody {
                @for limit in limits {
                    @let key = limit.key;
                    @let field = limit_field(key);
                    @let told: Vec<&str> = wrong.at(&field).collect();
                    @let way = if key.more_is_worse() { "up to " } else { "from " };
                    tr {
                        th scope="row" { (capital(key.what())) }
                        td.whole data-name="Everything" { (way) (key.told(limit.good)) }
                        td.whole data-name="A part" { (way) (key.told(limit.most)) }
                        td data-name="From" {
                            details {
                                summary { (limit.from.words()) @if limit.loosened_from.is_some() { strong { ", loosened" } } }
                                p { (capital(&limit.why)) "." }
                                p { "Between the two: " (plainly(limit.between)) "." }
                            }
                        }
                        td data-name="Your own" {
                            div.unit {
                                input type="text" id=(field) name=(field) form="told" value=(fields.raw(&field).unwrap_or_default())
                                    aria-label={ "Your own limit of " (key.what()) ", " (key.unit()) } autocomplete="off"
                                    aria-invalid=[(!told.is_empty()).then_some("true")]
                                    aria-describedby=[(!told.is_empty()).then(|| format!("{field}-wrong"))];
                                span { (report::number::readable_unit(key.unit())) }
                            }
                            @if !told.is_empty() { div id={ (field) "-wrong" } { @for what in &told { p.wrong { (what) } } } }
                        }
                    }
                }
            }
        }
        div.buttons { button form="told" { "Judge with these limits" } }
    }
}
