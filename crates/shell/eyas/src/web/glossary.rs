//! What do the hard words mean? Ours, the trade's and those of flight mechanics, each in a sentence or two that needs no other
//! book.

/// A word with its meaning.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Word {
    /// The word.
    pub(crate) word: &'static str,
    /// Other words for the same, and forms of it, by which it is found.
    pub(crate) also: &'static [&'static str],
    /// What it means.
    pub(crate) meaning: &'static str,
}

/// Words of a kind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shelf {
    /// What they are about.
    pub(crate) about: &'static str,
    /// The words, in the order in which they explain each other best.
    pub(crate) words: &'static [Word],
}

const fn w(word: &'static str, also: &'static [&'static str], meaning: &'static str) -> Word {
    Word { word, also, meaning }
}

/// All words.
pub(crate) static SHELVES: [Shelf; 7] = [
    Shelf {
        about: "Shape and measures",
        words: &[
            w(
                "datum",
                &[],
                "The place on the aircraft from which all lengths along it are measured: the nose, or the \
               leading edge at the root. Any will do, as long as all measures use the same.",
            ),
            w(
                "reference line",
                &[],
                "A straight line along the fuselage from which angles are measured. A wing set at \
               2° stands two degrees nose-up against it.",
            ),
            w(
                "station",
                &["stations"],
                "A place along a wing or body where its shape is given: chord, twist and position \
               there. Between two stations the shape runs straight.",
            ),
            w(
                "section",
                &["wing section"],
                "The outline that shows where a wing is cut across: how thick and how curved it is.",
            ),
            w(
                "mean chord",
                &["mean aerodynamic chord"],
                "The chord of a plain rectangular wing that would behave in pitch \
               as this wing does. Distances along the aircraft become comparable when they are counted in it.",
            ),
            w(
                "wing loading",
                &[],
                "Mass carried by each piece of wing area. The higher it is, the faster the aircraft \
               must fly.",
            ),
            w(
                "movable",
                &["movable surface"],
                "A part of a wing or tail that a servo moves: aileron, elevator, rudder, flap, or a mix of them.",
            ),
            w(
                "throw",
                &["throws"],
                "How far a movable goes to each side at full stick, in degrees at its hinge.",
            ),
            w(
                "three-view",
                &[],
                "The drawing of an aircraft from above, from ahead and from the side, all to one scale.",
            ),
        ],
    },
    Shelf {
        about: "Balance and stability",
        words: &[
            w(
                "balance point",
                &["center of gravity"],
                "Where the aircraft would balance on a finger: the middle of all \
               its mass. Too far aft and it will not hold its attitude; too far forward and the elevator cannot raise the nose.",
            ),
            w(
                "neutral point",
                &[],
                "The balance point at which a gust that raises the nose would neither be answered nor \
               fed. The balance point has to lie ahead of it.",
            ),
            w(
                "static margin",
                &[],
                "How far the balance point lies ahead of the neutral point, in per cent of the mean \
               chord. The more, the more stubbornly the aircraft keeps its speed, and the more elevator it takes to change it.",
            ),
            w(
                "balance range",
                &["safe balance range"],
                "From the most forward balance point at which the elevator can \
               still bring the wing to its stall, to the most aft at which enough static margin is left.",
            ),
            w(
                "inertia",
                &["moment of inertia"],
                "How much a body resists being turned faster: mass far from the middle counts \
               most, by the square of its distance.",
            ),
            w(
                "trim",
                &["trimmed"],
                "A state in which nothing turns the aircraft: it holds its attitude with the stick at rest.",
            ),
            w(
                "dihedral",
                &[],
                "The upward tilt of the wings. It turns a sideways slip into a roll out of it.",
            ),
            w(
                "washout",
                &["twist"],
                "The tip set at a smaller angle than the root, so that the middle of the wing stalls \
               first and the ailerons still work.",
            ),
        ],
    },
    Shelf {
        about: "Speed, lift and power",
        words: &[
            w(
                "airspeed",
                &[],
                "Speed through the air. It is what the wing feels; the speed over the ground is that and \
               the wind together.",
            ),
            w(
                "angle of attack",
                &[],
                "The angle at which the air meets the wing. Lift grows with it, up to the stall.",
            ),
            w(
                "stall",
                &["stall speed"],
                "Beyond a certain angle the air no longer follows the wing: lift falls and drag \
               rises, often with a wing dropping. The stall speed is the slowest at which the wing can carry the \
               aircraft straight and level; in a turn it is higher.",
            ),
            w(
                "lift coefficient",
                &[],
                "Lift freed from speed, size and air: how hard each piece of the wing works. The stall is at its largest value.",
            ),
            w(
                "polar",
                &[],
                "Drag against lift, over all speeds. Glide, sink, range and the power needed are all read from it.",
            ),
            w(
                "induced drag",
                &[],
                "The price of lift: large when slow, small when fast, and smaller the longer the wing.",
            ),
            w(
                "best glide",
                &["glide ratio"],
                "The speed at which a given height carries furthest in still air; the glide \
               ratio is how many meters forward each meter of height buys.",
            ),
            w(
                "least sink",
                &[],
                "The speed at which height lasts longest. It is slower than best glide, and nearer to the stall.",
            ),
            w(
                "thrust over weight",
                &["thrust to weight"],
                "How hard the propeller pulls at rest, counted in aircraft \
               weights. With one, it could hang on its propeller; a throw asks for a good part of that.",
            ),
            w(
                "Reynolds number",
                &[],
                "Speed times size over the air's stickiness. Small models fly at small values, where \
               wings stall earlier and drag more than large ones of the same shape.",
            ),
            w("load factor", &[], "Lift counted in weights: 1 in level flight, 2 in a turn banked 60°."),
            w(
                "slipstream",
                &[],
                "The faster, turning air behind the propeller. What stands in it works better with power on than off.",
            ),
            w("endurance", &[], "How long the pack lasts at the cruise speed, the reserve left untouched."),
            w(
                "reserve",
                &[],
                "The share of the pack that stays in it on landing, for a second approach and for the pack's own health.",
            ),
        ],
    },
    Shelf {
        about: "How it moves",
        words: &[
            w(
                "roll, pitch, yaw",
                &["roll", "pitch", "yaw"],
                "Turning about the length (wings rock), about the span \
               (nose up and down), and about the upright (nose left and right).",
            ),
            w(
                "mode",
                &["modes", "natural motion"],
                "A way in which the aircraft moves by itself after a disturbance: it \
               swings or creeps, and dies out or grows, each at its own pace.",
            ),
            w(
                "phugoid",
                &[],
                "A slow exchange of height and speed: nose up and slower, nose down and faster, over many \
               seconds, at a nearly constant angle of attack. Weakly damped, and easily held down by the pilot.",
            ),
            w(
                "short period",
                &[],
                "The quick nodding after a gust or a stab of elevator, over in a second or so. It \
               decides whether pitch feels tight or loose.",
            ),
            w(
                "Dutch roll",
                &[],
                "Yawing and rolling one after the other, the tail wagging as the wings rock. Too much dihedral for too little fin makes it linger.",
            ),
            w(
                "spiral",
                &["spiral mode"],
                "A slow straightening out of a bank, or a slow tightening of it into a descending turn.",
            ),
            w(
                "damping",
                &["damping ratio"],
                "How quickly a swing dies out: 0 goes on for ever, 0.7 is over after little \
               more than one, 1 does not swing at all.",
            ),
            w(
                "time constant",
                &[],
                "The time in which a change that levels off has come 63 per cent of its way.",
            ),
            w(
                "derivative",
                &["derivatives", "stability derivative"],
                "How much one force or moment changes when one \
               thing changes, such as pitching moment with angle of attack.",
            ),
            w(
                "adverse yaw",
                &[],
                "The nose swinging out of the turn when ailerons go in, since the wing that rises drags more.",
            ),
        ],
    },
    Shelf {
        about: "Stick and stabilizer",
        words: &[
            w(
                "direct, rate, level",
                &["direct", "rate", "level"],
                "How the stick acts: straight to the surfaces; \
               commanding how fast it turns; commanding the attitude itself.",
            ),
            w(
                "gain",
                &["gains", "feed-forward", "proportional", "integral"],
                "How strongly the stabilizer answers. \
               Feed-forward passes the stick on; proportional answers the error, integral what stays of it, derivative \
               how fast it changes. Too much of it and the surface shakes the aircraft.",
            ),
            w(
                "mounting angle",
                &[],
                "The angle between the controller's own axes and the aircraft's reference line. A \
               wrong one makes the aircraft climb or sink with the stick at rest.",
            ),
            w(
                "level attitude",
                &[],
                "The pitch attitude at which height holds at the cruise setting; it is not zero for most aircraft.",
            ),
            w(
                "trim capture",
                &[],
                "Taking the mean position of the surfaces in steady straight flight as the new center of the servos.",
            ),
            w(
                "surface direction check",
                &["surface directions"],
                "Moving the stick, then the model, propeller off, and seeing every \
               surface answer the right way. The check that has saved most models.",
            ),
            w(
                "failsafe",
                &[],
                "What the receiver does when it no longer hears the transmitter: motor off, and surfaces as \
               were set. Tried on the bench, propeller off.",
            ),
            w(
                "assisted launch",
                &[],
                "A throw in which the controller holds the wings level and a climb attitude.",
            ),
            w(
                "phase margin",
                &["gain margin"],
                "How far a stabilizer is from shaking itself: how much later it could \
               answer, or how much stronger, before a swing no longer dies out.",
            ),
        ],
    },
    Shelf {
        about: "The day and the flight",
        words: &[
            w("gust", &["gusts"], "The strongest wind of the last minutes, not what it adds to the mean."),
            w(
                "wind shear",
                &["shear"],
                "Wind that changes with height. Climbing out of still air into a tail wind costs airspeed.",
            ),
            w(
                "cross-wind",
                &[],
                "The part of the wind that blows across the runway or the line of the throw.",
            ),
            w(
                "METAR and TAF",
                &["METAR", "TAF"],
                "The weather report and forecast of an airport, in a short code that this program reads.",
            ),
            w(
                "test point",
                &["test points"],
                "One thing to fly and learn, with its conditions, its limits, and the numbers to expect.",
            ),
            w(
                "card",
                &["cards"],
                "The test points of one flight, with calls for the helper, on paper or on the phone. \
               An issued card never changes.",
            ),
            w(
                "launch odds",
                &["odds of the launch"],
                "Out of some thousand simulated throws, in which wind, throw and all \
               that is uncertain differ, how many climb away clean.",
            ),
            w(
                "readiness",
                &["ready"],
                "What was looked at or measured before a flight, at home, at the field and before the launch, each held against \
               what the model predicts.",
            ),
            w("outstanding", &[], "Not known well enough yet, so still to be flown."),
        ],
    },
    Shelf {
        about: "What is learnt and kept",
        words: &[
            w("recording", &["recordings"], "What the controller wrote down of a flight."),
            w(
                "column map",
                &["map"],
                "Which column of a recording is what, in which unit and with which sign.",
            ),
            w(
                "phase",
                &["phases"],
                "A piece of a recording: on the ground, launch, climb, straight, turn, glide, landing.",
            ),
            w(
                "finding",
                &["findings"],
                "A number learnt from a flight, with its doubt, the seconds it rests on, and \
               whether those are enough.",
            ),
            w(
                "enough",
                &[],
                "Whether the flight moved the aircraft so that a number could be told at all. Where it is \
               not, the finding says what to fly.",
            ),
            w(
                "\u{b1}",
                &["doubt", "uncertainty", "standard deviation"],
                "Two standard deviations: about nineteen times \
               out of twenty the true value lies that close. A standard deviation is half of it.",
            ),
            w(
                "stated, measured, predicted, flown",
                &["stated", "measured", "predicted", "flown"],
                "Where a number comes \
               from: written down without more; from the bench; computed; learnt from a flight.",
            ),
            w(
                "adopt",
                &["adopted"],
                "Taking what a flight taught into the aircraft's file, as a new revision.",
            ),
            w(
                "revision",
                &["revisions"],
                "One text of an aircraft's file, numbered. It is never changed: going back \
               keeps the old text once more.",
            ),
            w(
                "snapshot of settings",
                &["snapshot", "settings"],
                "All settings of the controller at one moment, letter by letter, \
               so that what changed can be told and put back.",
            ),
            w(
                "defect",
                &["defects"],
                "Something broken or doubtful. One that grounds the aircraft keeps it down until it \
               is closed and what the repair demands was looked at again.",
            ),
            w("hangar", &[], "The one file that holds everything kept, of all aircraft."),
        ],
    },
];

/// A word as a part of an address: small letters, digits and hyphens.
pub(crate) fn anchor(word: &str) -> String {
    let mut out = String::new();
    for c in word.chars().flat_map(char::to_lowercase) {
        match c {
            'a'..='z' | '0'..='9' => out.push(c),
            '\u{b1}' => out.push_str("plus-minus"),
            _ if !out.is_empty() && !out.ends_with('-') => out.push('-'),
            _ => {}
        }
    }
    out.trim_end_matches('-').to_owned()
}

/// The entry that explains a word; capital or small letters are the same.
pub(crate) fn find(word: &str) -> Option<&'static Word> {
    let wanted = word.trim().to_lowercase();
    let all = || SHELVES.iter().flat_map(|shelf| shelf.words);
    all()
        .find(|w| w.word.to_lowercase() == wanted)
        .or_else(|| all().find(|w| w.also.iter().any(|a| a.to_lowercase() == wanted)))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_word_is_found_and_has_an_address_of_its_own() {
        let mut seen = BTreeSet::new();
        let mut names = BTreeSet::new();
        for w in SHELVES.iter().flat_map(|shelf| shelf.words) {
            let anchor = anchor(w.word);
            assert!(!anchor.is_empty() && seen.insert(anchor.clone()), "{}: {anchor}", w.word);
            assert!(w.meaning.ends_with('.') && w.meaning.len() > 40, "{}", w.word);
            for name in w.also.iter().chain([&w.word]) {
                assert!(names.insert(name.to_lowercase()), "{name} stands twice");
                assert_eq!(find(&name.to_uppercase()).map(|f| f.word), Some(w.word), "{name}");
            }
        }
        assert!(seen.len() >= 40, "{}", seen.len());
        assert!(find("warp drive").is_none());
    }
}
