//! Which clocks does the user read? A named zone or that of the system, from the time zone database (IANA).

use jiff::Timestamp;
use jiff::tz::{Offset as Ahead, TimeZone};
use sky::instant::Instant;
use sky::zone::{Offset, Zone};

/// How far around an instant the clocks are known, s: past the end of any forecast.
const AROUND_S: i64 = 8 * 86_400;

/// The clocks that were asked for: a name of the database ("Europe/Madrid"), an offset ("+02:00"), UTC, or those of the
/// system.
pub(crate) fn find(named: Option<&str>) -> Result<TimeZone, String> {
    let Some(named) = named else {
        // A system without a zone shows UTC.
        return Ok(TimeZone::try_system().unwrap_or(TimeZone::UTC));
    };
    let typed = named.trim();
    if typed.eq_ignore_ascii_case("utc") || typed.eq_ignore_ascii_case("z") {
        return Ok(TimeZone::UTC);
    }
    if let Some(ahead) = fixed(typed) {
        return Ok(TimeZone::fixed(ahead));
    }
    TimeZone::get(typed).map_err(|_| {
        format!("--zone {named} is no time zone: write a name such as Europe/Madrid, an offset such as +02:00, or UTC")
    })
}

/// An offset as typed: +02:00, -0330, +2.
fn fixed(typed: &str) -> Option<Ahead> {
    let (sign, rest) = match typed.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-" | "\u{2212}", rest) => (-1, rest),
        _ => return None,
    };
    let digits = rest.replace(':', "");
    let number = |text: &str| text.bytes().all(|b| b.is_ascii_digit()).then(|| text.parse::<i32>().ok())?;
    let (hours, minutes) = match digits.len() {
        1 | 2 => (number(&digits)?, 0),
        4 => (number(digits.get(..2)?)?, number(digits.get(2..)?)?),
        _ => return None,
    };
    (hours <= 14 && minutes < 60).then(|| Ahead::from_seconds(sign * (hours * 3600 + minutes * 60)).ok())?
}

/// The clocks of a zone around an instant.
pub(crate) fn clocks(zone: &TimeZone, around: Instant) -> Zone {
    let Ok(begin) = Timestamp::from_second(around.unix_s() - AROUND_S) else {
        return Zone::utc();
    };
    let end = around.plus_s(AROUND_S);
    let at_begin = zone.to_offset_info(begin);
    let mut offsets = vec![Offset {
        from: Instant::from_unix_s(begin.as_second()),
        ahead_s: i64::from(at_begin.offset().seconds()),
        short: at_begin.abbreviation().to_owned(),
    }];
    for change in zone.following(begin) {
        let from = Instant::from_unix_s(change.timestamp().as_second());
        if from > end {
            break;
        }
        offsets.push(Offset {
            from,
            ahead_s: i64::from(change.offset().seconds()),
            short: change.abbreviation().to_owned(),
        });
    }
    Zone::new(zone.iana_name().unwrap_or("the clocks here"), offsets)
}

/// An instant as typed: with its offset, or by the clocks of the zone.
pub(crate) fn instant(typed: &str, zone: &TimeZone) -> Option<Instant> {
    let typed = typed.trim().replace(' ', "T");
    let stamp = typed.parse::<Timestamp>().ok().or_else(|| {
        let local = typed.parse::<jiff::civil::DateTime>().ok()?;
        local.to_zoned(zone.clone()).ok().map(|zoned| zoned.timestamp())
    })?;
    Some(Instant::from_unix_s(stamp.as_second()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_named_zone_has_its_summer_time_and_a_typed_offset_is_kept() {
        // IANA time zone database; EU Directive 2000/84/EC: summer time begins on the last Sunday in March at 01:00 UTC.
        let madrid = find(Some("Europe/Madrid")).unwrap();
        let eve = Instant::of(2026, 3, 28, 22, 0).unwrap();
        let zone = clocks(&madrid, eve);
        assert_eq!(zone.clock(eve), "23:00 CET (22:00 UTC)");
        assert_eq!(zone.clock(eve.plus_s(3 * 3600)), "03:00 CEST (01:00 UTC)");
        assert_eq!(zone.name(), "Europe/Madrid");
        // US Energy Policy Act of 2005: daylight time ends on the first Sunday in November at 2 in the morning, 06:00 UTC.
        let autumn = Instant::of(2026, 11, 1, 5, 59).unwrap();
        let east = clocks(&find(Some("America/New_York")).unwrap(), autumn);
        assert_eq!(east.clock(autumn), "01:59 EDT (05:59 UTC)");
        assert_eq!(east.clock(autumn.plus_s(60)), "01:00 EST (06:00 UTC)");
        let noon = Instant::of(2026, 6, 21, 12, 0).unwrap();
        for (typed, words) in [
            ("+02:00", "14:00"),
            ("-0330", "08:30"),
            ("+5", "17:00"),
            ("utc", "12:00"),
            ("Asia/Kathmandu", "17:45"),
        ] {
            assert_eq!(clocks(&find(Some(typed)).unwrap(), noon).bare(noon), words, "{typed}");
        }
        for wrong in ["Atlantis/Poseidonis", "+25:00", "+1:2:3", "-", "+ab", ""] {
            assert!(find(Some(wrong)).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_time_without_an_offset_is_that_of_the_clocks_here() {
        let madrid = find(Some("Europe/Madrid")).unwrap();
        for (typed, utc) in [
            ("2026-06-21 14:00", 12),
            ("2026-06-21T14:00:00Z", 14),
            ("2026-06-21T14:00+03:00", 11),
            ("2026-06-21T14:00Z", 14),
        ] {
            assert_eq!(instant(typed, &madrid), Instant::of(2026, 6, 21, utc, 0), "{typed}");
        }
        for wrong in ["noon", "14:00", "2026-13-01T10:00", ""] {
            assert_eq!(instant(wrong, &madrid), None, "{wrong}");
        }
    }
}
