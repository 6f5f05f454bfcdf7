//! What is said beside every launch? The usual cautions; local rules and instructed practice go before.

use aircraft::Aircraft;

use super::scene::{Method, propeller_behind};

/// Cautions for a way into the air, in the order in which they are needed.
#[must_use]
pub fn cautions(aircraft: &Aircraft, method: &Method) -> Vec<&'static str> {
    let mut out = vec![
        "These are odds computed from measurements and guesses about a throw; they do not say that a launch is safe. Local law, the \
         field's rules and a club's instructor come first.",
        "Nobody ahead of it or beside its way, spectators well behind the launch; look for aircraft and people before every try.",
        "One person has the transmitter ready, with a thumb on the throttle and the switch; that person says when.",
    ];
    if aircraft.drive.is_some() {
        out.push(
            "A turning propeller cuts: nothing and nobody in its disc or its plane, arming last, disarming first, a way to stop the motor \
             at hand.",
        );
    }
    match method {
        Method::Hand if propeller_behind(aircraft) => out.push(
            "The propeller turns behind the hand: the motor stays off until the hand is clear, whatever the odds say about an earlier \
             start.",
        ),
        Method::Hand => out.push(
            "Hold it where no finger, sleeve or hair reaches the propeller; straight ahead into the wind, level, and let go: pushing up \
             stalls it.",
        ),
        Method::Bungee(_) => out.push(
            "A stretched cord holds more energy than a throw: nobody in its line or near the peg, eyes protected, the peg tested before.",
        ),
        Method::Rail(_) => out.push(
            "A loaded rail can fire by itself: a safety pin until everybody is behind it, and never a hand or a face over it.",
        ),
        Method::Rolling(_) => {
            out.push("Stand behind it; close the throttle at once when it swerves, and never run after it.");
        }
    }
    out.push(
        "Try first what the odds call easiest: less wind, a helper who has thrown before, short grass below.",
    );
    out
}
