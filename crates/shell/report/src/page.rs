//! What do all pages share? One self-contained file without scripts: legible on a phone in the sun, on a desk, at night
//! and on paper.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Colors and shapes of all pages. Text sizes are relative, so that a reader's own setting counts.
pub const STYLE: &str = "
:root{--ink:#111;--paper:#fff;--soft:#f1f1ec;--grid:#c4c4c4;--line:#767676;--a:#0a3d91;--b:#a83200;--c:#14632b;--d:#6a1b8a;--warn:#fff1d6;--alarm:#fbe3df}
@media (prefers-color-scheme:dark){:root{--ink:#f2f2ee;--paper:#161616;--soft:#242422;--grid:#565656;--line:#9a9a9a;--a:#8ab8ff;--b:#ff9d6b;--c:#7fd49a;--d:#d9a6f2;--warn:#3a2e12;--alarm:#42201a}}
@media (prefers-contrast:more){:root{--ink:#000;--paper:#fff;--soft:#fff;--grid:#888;--line:#000;--a:#00205b;--b:#6b1f00;--c:#003d14;--d:#3f0055;--warn:#fff;--alarm:#fff}}
@media (prefers-contrast:more) and (prefers-color-scheme:dark){:root{--ink:#fff;--paper:#000;--soft:#000;--grid:#aaa;--line:#fff;--a:#bcd7ff;--b:#ffc7a8;--c:#b6f2c8;--d:#eed3ff;--warn:#000;--alarm:#000}}
*{box-sizing:border-box}
html{background:var(--paper);color:var(--ink);font:1.0625rem/1.5 system-ui,sans-serif;-webkit-text-size-adjust:100%}
body{margin:0 auto;padding:0 1rem 3rem;max-width:72rem;overflow-wrap:anywhere}
h1{font-size:1.7rem;line-height:1.2;margin:1.2rem 0 .3rem}
h2{font-size:1.3rem;line-height:1.25;margin:2.2rem 0 .5rem;border-top:3px solid var(--ink);padding-top:.5rem}
h3{font-size:1.08rem;margin:1.3rem 0 .3rem}
p{margin:.45rem 0;max-width:46rem}
ul,ol{margin:.4rem 0;padding-left:1.4rem;max-width:46rem}
li{margin:.3rem 0}
a{color:var(--a)}
strong{font-weight:700}
.unbroken{overflow-wrap:normal}
.lead{font-size:1.1rem}
.note{color:var(--ink);font-size:.95rem}
.warn,.alarm{background:var(--warn);border-left:6px solid var(--b);padding:.6rem .9rem;margin:.8rem 0;max-width:48rem}
.alarm{background:var(--alarm)}
.warn h2,.alarm h2,.warn h3,.alarm h3{border:0;margin:0 0 .2rem;padding:0}
.warn ul,.alarm ul{margin:0}
.plots{display:grid;gap:1.2rem;grid-template-columns:repeat(auto-fit,minmax(min(100%,22rem),1fr));align-items:start;margin:1rem 0}
figure{margin:0;max-width:38rem;border:1px solid var(--line);border-radius:.4rem;padding:.3rem;background:var(--paper)}
figure svg{display:block;width:100%;height:auto}
.plots>figure{max-width:30rem}
@media (max-width:34rem){figure{margin:0 -.6rem;padding:.1rem}}
figcaption{font-size:.95rem;padding:.3rem .5rem .4rem}
.beside{display:grid;gap:1.4rem;grid-template-columns:repeat(auto-fit,minmax(min(100%,24rem),1fr));align-items:start}
dl{margin:.5rem 0;max-width:46rem}
dl>div{display:flex;flex-wrap:wrap;justify-content:space-between;gap:0 1rem;border-bottom:1px solid var(--grid);padding:.25rem 0}
dt{font-weight:400}
dd{margin:0 0 0 auto;font-weight:700;font-variant-numeric:tabular-nums;text-align:right}
.block{border:1px solid var(--line);border-radius:.4rem;padding:.6rem .9rem;margin:.8rem 0;max-width:48rem;break-inside:avoid}
.block h3{margin:0 0 .2rem}
.held{border-left:6px solid var(--b)}
.big{font-size:1.15rem;font-weight:700}
table{border-collapse:collapse;margin:.6rem 0;width:100%;max-width:48rem}
th,td{text-align:left;padding:.3rem .5rem .3rem 0;border-bottom:1px solid var(--grid);vertical-align:top}
thead th{border-bottom:2px solid var(--ink)}
.n{text-align:right;font-variant-numeric:tabular-nums}
footer{margin-top:3rem;border-top:1px solid var(--line);padding-top:.6rem;font-size:.95rem}
@media (max-width:34rem){
table.stack thead{position:absolute;left:-9999px}
table.stack tr{display:block;border-bottom:2px solid var(--line);padding:.4rem 0}
table.stack th,table.stack td{display:flex;justify-content:space-between;gap:1rem;border:0;padding:.1rem 0;text-align:right}
table.stack th{font-size:1.05rem;text-align:left}
table.stack td::before{content:attr(data-name);text-align:left;font-weight:400}
}
@media print{:root{--ink:#000;--paper:#fff;--soft:#fff;--warn:#fff;--alarm:#fff;--grid:#bbb;--line:#555;--a:#0a3d91;--b:#a83200;--c:#14632b;--d:#6a1b8a}
html{font-size:10.5pt}body{padding:0;max-width:none}h2{margin-top:1rem}figure,.block,.point,li{break-inside:avoid}a{color:inherit}
.plots{grid-template-columns:1fr 1fr}}
";

/// What every page says at its foot.
pub const FOOT: &str = "Numbers are estimates from the measurements and recordings given; \u{201c}±\u{201d} is two standard \
                    deviations. They do not say that a flight is safe. The law of the place, the field's rules and a \
                    club's instructor come first.";

/// A whole page around a body, with additional style.
pub(crate) fn page(title: &str, style: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(style)) }
            }
            body {
                main { (body) }
                footer { p { (FOOT) } }
            }
        }
    }
    .into_string()
}

/// A drawing of ours with a caption. The drawing is set in as it is: never text that came from elsewhere.
#[must_use]
pub fn figure(svg: String, caption: &str) -> Markup {
    html! {
        figure {
            (PreEscaped(svg))
            @if !caption.is_empty() { figcaption { (caption) } }
        }
    }
}

/// Names and values, one a line.
#[must_use]
pub fn facts<'a>(pairs: impl IntoIterator<Item = (&'a str, String)>) -> Markup {
    html! {
        dl {
            @for (name, value) in pairs {
                div { dt { (name) } dd { (value) } }
            }
        }
    }
}
