//! What does one group of a report say? Each reader takes a whole group or refuses it.

use numerics::units::{M_PER_FT, M_S_PER_KM_H, M_S_PER_KT};

use super::phenomena::Phenomena;
use super::{Amount, Bound, Cloud, Conditions, Tower, Visibility, Wind};
use crate::atmosphere::ZERO_CELSIUS_K;

/// Statute mile, m (exact by definition).
const M_PER_MILE: f64 = 1609.344;
/// Inch of mercury at 0 °C, Pa (conventional).
const PA_PER_INHG: f64 = 3386.389;
/// Visibility that "9999" and CAVOK stand for, m: that or more.
const TEN_KM: f64 = 10_000.0;
/// Strongest surface wind ever measured is 113 m/s (WMO record archive); a report beyond is a slip.
const STRONGEST_WIND_M_S: f64 = 113.0;
/// Temperatures of weather on Earth, °C (WMO record archive: -89.2 to 56.7), with a little room.
const TEMPERATURES_C: [f64; 2] = [-90.0, 58.0];
/// Pressures at sea level, hPa (WMO record archive: 870 to 1084.8), with a little room.
const PRESSURES_HPA: [f64; 2] = [860.0, 1090.0];

/// A group that was read.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Group {
    Wind(Wind),
    /// The station has no wind to tell.
    NoWind,
    Sector([f64; 2]),
    Visibility(Visibility),
    /// Least visibility in a direction, m.
    Least(f64),
    NoVisibility,
    Cavok,
    Phenomena(Phenomena),
    /// Weather ends.
    NoPhenomena,
    UnknownPhenomena,
    Cloud(Cloud),
    NoCloud,
    UnknownCloud,
    /// Temperature and dew point, K.
    Temperatures(f64, Option<f64>),
    NoTemperatures,
    /// Pressure reduced to sea level by the standard atmosphere, Pa.
    Pressure(f64),
    NoPressure,
    /// Of runways, seas, colors and past weather: nothing that a model aircraft's day asks for.
    Other,
}

/// Why a group was not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Refused {
    /// It has no form of the code.
    Unknown,
    /// It has a form of the code and says what cannot be.
    Impossible(String),
}

type Read = Result<Option<Group>, Refused>;

/// Reads a group of the body of a report.
pub(crate) fn read(group: &str) -> Result<Group, Refused> {
    for reader in [wind, sector, visibility, fixed, cloud, temperatures, pressure, others] {
        if let Some(found) = reader(group)? {
            return Ok(found);
        }
    }
    match Phenomena::read(group) {
        Some(phenomena) => Ok(Group::Phenomena(phenomena)),
        None => Err(Refused::Unknown),
    }
}

/// So many digits at the beginning, and what follows them.
pub(crate) fn digits(text: &str, count: usize) -> Option<(u32, &str)> {
    let head = text.get(..count)?;
    if !head.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    Some((head.parse().ok()?, text.get(count..)?))
}

/// Digits and nothing else.
pub(crate) fn only_digits(text: &str, count: usize) -> Option<u32> {
    digits(text, count).filter(|(_, rest)| rest.is_empty()).map(|(n, _)| n)
}

fn impossible<T>(what: impl Into<String>) -> Result<T, Refused> {
    Err(Refused::Impossible(what.into()))
}

/// Two or three digits of speed.
fn speed(text: &str) -> Option<(f64, &str)> {
    let (beyond, text) = match text.strip_prefix('P') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (number, rest) = digits(text, 3).or_else(|| digits(text, 2))?;
    // P99: more than 99, which is a gale however much more.
    Some((f64::from(number) + f64::from(u8::from(beyond)), rest))
}

fn wind(group: &str) -> Read {
    let units = [("KT", M_S_PER_KT), ("MPS", 1.0), ("KMH", M_S_PER_KM_H)];
    let Some((body, unit)) = units.iter().find_map(|(u, f)| group.strip_suffix(u).map(|b| (b, *f))) else {
        return Ok(None);
    };
    if matches!(body, "/////" | "///////" | "/////G//") {
        return Ok(Some(Group::NoWind));
    }
    let (from_deg, rest) = if let Some(rest) = body.strip_prefix("VRB") {
        (None, rest)
    } else if let Some((deg, rest)) = digits(body, 3) {
        (Some(f64::from(deg)), rest)
    } else {
        return Err(Refused::Unknown);
    };
    let Some((mean, rest)) = speed(rest) else {
        return Err(Refused::Unknown);
    };
    let gust = match rest.strip_prefix('G') {
        Some(gust) => match speed(gust) {
            Some((gust, "")) => Some(gust),
            _ => return Err(Refused::Unknown),
        },
        None if rest.is_empty() => None,
        None => return Err(Refused::Unknown),
    };
    if from_deg.is_some_and(|deg| deg > 360.0) {
        return impossible("a direction is at most 360 degrees");
    }
    // A digit lost or doubled shows here: directions are told to ten degrees (FM 15, 15.5.2).
    if from_deg.is_some_and(|deg| deg % 10.0 != 0.0) {
        return impossible("a direction is told to whole tens of degrees");
    }
    if gust.is_some_and(|gust| gust < mean) {
        return impossible("the gusts are below the mean wind");
    }
    if gust.unwrap_or(mean) * unit > STRONGEST_WIND_M_S {
        return impossible("no wind as strong was ever measured");
    }
    // 000 with a speed is a direction of north for some stations; with none it is calm.
    let from_deg = from_deg.filter(|_| mean > 0.0).map(|deg| if deg == 0.0 { 360.0 } else { deg });
    Ok(Some(Group::Wind(Wind {
        from_deg,
        mean_m_s: mean * unit,
        gust_m_s: gust.map(|g| g * unit),
        sector_deg: None,
    })))
}

fn sector(group: &str) -> Read {
    let Some((from, rest)) = digits(group, 3) else {
        return Ok(None);
    };
    let Some(to) = rest.strip_prefix('V').and_then(|rest| only_digits(rest, 3)) else {
        return Ok(None);
    };
    if from > 360 || to > 360 {
        return impossible("a direction is at most 360 degrees");
    }
    Ok(Some(Group::Sector([f64::from(from), f64::from(to)])))
}

fn exact(m: f64, bound: Bound) -> Group {
    Group::Visibility(Visibility { m, bound, least_m: None })
}

const COMPASS: [&str; 8] = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];

fn visibility(group: &str) -> Read {
    if matches!(group, "////" | "////SM" | "////NDV") {
        return Ok(Some(Group::NoVisibility));
    }
    if let Some(miles) = group.strip_suffix("SM") {
        return miles_of(miles).map(Some);
    }
    if let Some((km, "KM")) = digits(group, 2).or_else(|| digits(group, 1)) {
        return Ok(Some(exact(1000.0 * f64::from(km), Bound::Exact)));
    }
    let Some((m, rest)) = digits(group, 4) else {
        return Ok(None);
    };
    let m = f64::from(m);
    match rest {
        "" | "NDV" if m == 9999.0 => Ok(Some(exact(TEN_KM, Bound::OrMore))),
        // 0000: less than 50 m.
        "" | "NDV" if m == 0.0 => Ok(Some(exact(50.0, Bound::Below))),
        "" | "NDV" => Ok(Some(exact(m, Bound::Exact))),
        direction if COMPASS.contains(&direction) => {
            Ok(Some(Group::Least(if m == 9999.0 { TEN_KM } else { m })))
        }
        _ => Ok(None),
    }
}

/// Statute miles: 10, 1/2, 1 1/2 (a space or nothing between), M1/4 for less, P6 for more.
fn miles_of(text: &str) -> Result<Group, Refused> {
    let (bound, text) = if let Some(rest) = text.strip_prefix('M') {
        (Bound::Below, rest)
    } else if let Some(rest) = text.strip_prefix('P') {
        (Bound::OrMore, rest)
    } else {
        (Bound::Exact, text)
    };
    let (whole, part) = match text.split_once(' ') {
        Some((whole, part)) => (whole, part),
        None if text.contains('/') => ("0", text),
        None => (text, "0/1"),
    };
    let number = |text: &str, most: usize| -> Option<f64> {
        let sound = !text.is_empty() && text.len() <= most && text.bytes().all(|b| b.is_ascii_digit());
        if sound { text.parse().ok() } else { None }
    };
    let read = (|| {
        let (over, under) = part.split_once('/')?;
        Some((number(whole, 2)?, number(over, 2)?, number(under, 2)?))
    })();
    let Some((whole, over, under)) = read else {
        return Err(Refused::Unknown);
    };
    if under == 0.0 || over >= under.max(1.0) && over > 0.0 {
        return impossible("the fraction of a mile is none below one");
    }
    let m = (whole + over / under) * M_PER_MILE;
    // Stations that count in miles stop at ten: it says that or more.
    let bound = if bound == Bound::Exact && whole >= 10.0 { Bound::OrMore } else { bound };
    Ok(exact(m, bound))
}

fn fixed(group: &str) -> Read {
    Ok(Some(match group {
        "CAVOK" => Group::Cavok,
        "NSW" => Group::NoPhenomena,
        "//" => Group::UnknownPhenomena,
        "SKC" | "CLR" | "NSC" | "NCD" => Group::NoCloud,
        "//////" | "/////////" | "VV///" => Group::UnknownCloud,
        _ => return Ok(None),
    }))
}

fn cloud(group: &str) -> Read {
    let amounts = [
        ("FEW", Amount::Few),
        ("SCT", Amount::Scattered),
        ("BKN", Amount::Broken),
        ("OVC", Amount::Overcast),
        ("VV", Amount::Hidden),
        ("///", Amount::Unknown),
    ];
    let Some((rest, amount)) = amounts.iter().find_map(|(word, a)| group.strip_prefix(word).map(|r| (r, *a)))
    else {
        return Ok(None);
    };
    let (base_m, rest) = if let Some((hundreds, rest)) = digits(rest, 3) {
        (Some(f64::from(hundreds) * 100.0 * M_PER_FT), rest)
    } else if let Some(rest) = rest.strip_prefix("///") {
        (None, rest)
    } else {
        return Ok(None);
    };
    let tower = match rest {
        "CB" => Some(Tower::Cumulonimbus),
        "TCU" => Some(Tower::ToweringCumulus),
        // A genus some stations add, and the mark of a machine that cannot tell.
        "" | "///" | "CI" | "CC" | "CS" | "AC" | "AS" | "NS" | "SC" | "ST" | "CU" => None,
        _ => return Err(Refused::Unknown),
    };
    if amount == Amount::Unknown && base_m.is_none() && tower.is_none() {
        return Ok(Some(Group::UnknownCloud));
    }
    Ok(Some(Group::Cloud(Cloud { amount, base_m, tower })))
}

/// Whole degrees Celsius, M for minus.
fn celsius(text: &str) -> Option<f64> {
    let (sign, text) = match text.strip_prefix('M') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text),
    };
    only_digits(text, 2).map(|n| sign * f64::from(n))
}

fn temperatures(group: &str) -> Read {
    // Two strokes stand for a number that is missing, a third parts the two numbers.
    if matches!(group, "/////" | "XX/XX")
        || group.strip_prefix("///").is_some_and(|dew| celsius(dew).is_some())
    {
        return Ok(Some(Group::NoTemperatures));
    }
    let Some((air, dew)) = group.split_once('/') else {
        return Ok(None);
    };
    let Some(air_c) = celsius(air) else {
        return Ok(None);
    };
    let dew_c = match dew {
        "" | "//" | "XX" => None,
        _ => match celsius(dew) {
            Some(dew_c) => Some(dew_c),
            None => return Ok(None),
        },
    };
    temperatures_of(air_c, dew_c).map(Some)
}

/// Checks a temperature and its dew point, both °C.
pub(crate) fn temperatures_of(air_c: f64, dew_c: Option<f64>) -> Result<Group, Refused> {
    let [low, high] = TEMPERATURES_C;
    if !(low..=high).contains(&air_c) {
        return impossible("no air of weather has that temperature");
    }
    if dew_c.is_some_and(|dew| dew > air_c) {
        return impossible("the dew point is above the temperature");
    }
    if dew_c.is_some_and(|dew| dew < low) {
        return impossible("no air of weather has that dew point");
    }
    Ok(Group::Temperatures(air_c + ZERO_CELSIUS_K, dew_c.map(|d| d + ZERO_CELSIUS_K)))
}

fn pressure(group: &str) -> Read {
    if matches!(group, "Q////" | "A////") {
        return Ok(Some(Group::NoPressure));
    }
    let pa = if let Some(hpa) = group.strip_prefix('Q').and_then(|rest| only_digits(rest, 4)) {
        f64::from(hpa) * 100.0
    } else if let Some(hundredths) = group.strip_prefix('A').and_then(|rest| only_digits(rest, 4)) {
        f64::from(hundredths) / 100.0 * PA_PER_INHG
    } else if let Some(hundredths) =
        group.strip_prefix("QNH").and_then(|r| r.strip_suffix("INS")).and_then(|r| only_digits(r, 4))
    {
        f64::from(hundredths) / 100.0 * PA_PER_INHG
    } else {
        return Ok(None);
    };
    let [low, high] = PRESSURES_HPA;
    if !(low..=high).contains(&(pa / 100.0)) {
        return impossible("no air of weather has that pressure");
    }
    Ok(Some(Group::Pressure(pa)))
}

/// Groups that are taken and left aside.
fn others(group: &str) -> Read {
    let state = |rest: &str| !rest.is_empty() && rest.bytes().all(|b| b.is_ascii_digit() || b == b'/');
    let aside = runway(group)
        // State of all runways in eight digits.
        || only_digits(group, 8).is_some()
        // Temperature and state of the sea.
        || group.strip_prefix('W').and_then(|r| r.rsplit_once('/')).is_some_and(|(t, sea)| {
            (celsius(t).is_some() || t == "//") && (sea.strip_prefix(['S', 'H']).is_some_and(state))
        })
        // Weather of the last hour.
        || group.strip_prefix("RE").is_some_and(|r| r == "//" || Phenomena::read(r).is_some())
        // Color states of military stations.
        || matches!(
            group.strip_prefix("BLACK").unwrap_or(group),
            "" | "BLU" | "BLU+" | "WHT" | "GRN" | "YLO" | "YLO1" | "YLO2" | "AMB" | "RED"
        )
        // Sea-level pressure that stands before the remarks it belongs to.
        || group.strip_prefix("SLP").is_some_and(|r| only_digits(r, 3).is_some() || r == "NO")
        || matches!(group, "NOSPECI" | "$");
    Ok(aside.then_some(Group::Other))
}

/// Visual range along a runway, or its state.
fn runway(group: &str) -> bool {
    if group == "R/SNOCLO" {
        return true;
    }
    let Some((_, rest)) = group.strip_prefix('R').and_then(|rest| digits(rest, 2)) else {
        return false;
    };
    let Some((which, value)) = rest.split_once('/') else {
        return false;
    };
    let which = matches!(which, "" | "L" | "R" | "C" | "LL" | "RR" | "CC");
    which && (range(value) || surface(value))
}

/// P1500, M0050V0400U, 2600FT, 0450FT/D, ////.
fn range(value: &str) -> bool {
    let value = value.strip_suffix(['U', 'D', 'N']).unwrap_or(value);
    let value = value.strip_suffix('/').unwrap_or(value);
    let value = value.strip_suffix("FT").unwrap_or(value);
    if value == "////" || value == "///" {
        return true;
    }
    let one = |text: &str| only_digits(text.strip_prefix(['P', 'M']).unwrap_or(text), 4).is_some();
    match value.split_once('V') {
        Some((low, high)) => one(low) && one(high),
        None => one(value),
    }
}

/// State of a runway: six characters, CLRD with two, CLRD// or ///.
fn surface(value: &str) -> bool {
    let marks = |text: &str| text.bytes().all(|b| b.is_ascii_digit() || b == b'/');
    match value.strip_prefix("CLRD") {
        Some(rest) => rest.len() == 2 && marks(rest),
        None => value == "SNOCLO" || value == "D" || value.len() == 6 && marks(value),
    }
}

/// What a group adds to conditions, or why it cannot.
pub(crate) fn put(conditions: &mut Conditions, group: Group) -> Result<(), String> {
    let twice = |what: &str| Err(format!("the {what} is told a second time"));
    match group {
        Group::Wind(_) if conditions.wind.is_some() => return twice("wind"),
        Group::Wind(wind) => conditions.wind = Some(wind),
        Group::Sector(sector) => match &mut conditions.wind {
            Some(wind) if wind.sector_deg.is_none() => wind.sector_deg = Some(sector),
            Some(_) => return twice("sector of the wind"),
            None => return Err("no wind stands before its sector".to_owned()),
        },
        Group::Visibility(_) if conditions.visibility.is_some() => return twice("visibility"),
        Group::Visibility(visibility) => conditions.visibility = Some(visibility),
        Group::Least(m) => match &mut conditions.visibility {
            Some(visibility) => {
                visibility.least_m = Some(visibility.least_m.map_or(m, |least: f64| least.min(m)));
            }
            None => conditions.visibility = Some(Visibility { m, bound: Bound::Exact, least_m: Some(m) }),
        },
        Group::Cavok => {
            if conditions.visibility.is_some() || conditions.clouds.is_some() {
                return Err("CAVOK stands beside a visibility or cloud of its own".to_owned());
            }
            conditions.visibility = Some(Visibility { m: TEN_KM, bound: Bound::OrMore, least_m: None });
            conditions.phenomena = Some(Vec::new());
            conditions.clouds = Some(Vec::new());
        }
        Group::Phenomena(phenomena) => conditions.phenomena.get_or_insert_default().push(phenomena),
        Group::NoPhenomena => {
            conditions.phenomena.get_or_insert_default();
        }
        Group::Cloud(cloud) => conditions.clouds.get_or_insert_default().push(cloud),
        Group::NoCloud => match &conditions.clouds {
            Some(clouds) if !clouds.is_empty() => {
                return Err("it says that there is no cloud beside cloud that it tells".to_owned());
            }
            _ => conditions.clouds = Some(Vec::new()),
        },
        Group::UnknownCloud => conditions.clouds.get_or_insert_default().push(Cloud {
            amount: Amount::Unknown,
            base_m: None,
            tower: None,
        }),
        Group::NoWind
        | Group::NoVisibility
        | Group::UnknownPhenomena
        | Group::Temperatures(..)
        | Group::NoTemperatures
        | Group::Pressure(_)
        | Group::NoPressure
        | Group::Other => {}
    }
    Ok(())
}
