//! What do conditions say, in words for people? Numbers in SI with their units.

use numerics::words::{exact, fixed};

use super::{Amount, Bound, Conditions, Shear, Tower, Visibility, Wind};

impl Wind {
    /// "from 220° at 7.7 m/s, gusts 12.9 m/s"; "calm".
    #[must_use]
    pub fn words(&self) -> String {
        if self.mean_m_s <= 0.0 && self.gust_m_s.is_none() {
            return "calm".to_owned();
        }
        let from =
            self.from_deg.map_or("from varying directions".to_owned(), |deg| format!("from {deg:03.0}°"));
        let mut out = format!("{from} at {}\u{a0}m/s", fixed(self.mean_m_s, 1));
        if let Some(gust) = self.gust_m_s {
            out.push_str(&format!(", gusts {}\u{a0}m/s", fixed(gust, 1)));
        }
        if let Some([from, to]) = self.sector_deg {
            out.push_str(&format!(", varying from {from:03.0}° to {to:03.0}°"));
        }
        out
    }
}

impl Visibility {
    /// "1200 m", "10 km or more".
    #[must_use]
    pub fn words(&self) -> String {
        let size = |m: f64| {
            if m >= 5000.0 { exact(m / 1000.0, "km") } else { exact((m / 10.0).round() * 10.0, "m") }
        };
        let mut out = match self.bound {
            Bound::Exact => size(self.m),
            Bound::OrMore => format!("{} or more", size(self.m)),
            Bound::Below => format!("below {}", size(self.m)),
        };
        if let Some(least) = self.least_m {
            out.push_str(&format!(", {} in one direction", size(least)));
        }
        out
    }
}

impl Conditions {
    /// What it says, part by part, each a few words; what it does not tell is left out.
    #[must_use]
    pub fn words(&self) -> Vec<String> {
        let mut out = Vec::new();
        if let Some(wind) = &self.wind {
            out.push(format!("wind {}", wind.words()));
        }
        if let Some(visibility) = &self.visibility {
            out.push(format!("visibility {}", visibility.words()));
        }
        match self.phenomena.as_deref() {
            None => {}
            Some([]) => out.push("no weather".to_owned()),
            Some(all) => out.extend(all.iter().map(super::Phenomena::words)),
        }
        match self.clouds.as_deref() {
            None => {}
            Some([]) => out.push("no cloud of significance".to_owned()),
            Some(all) => {
                for cloud in all {
                    let amount = match cloud.amount {
                        Amount::Unknown => "cloud",
                        Amount::Few => "few clouds",
                        Amount::Scattered => "scattered cloud",
                        Amount::Broken => "broken cloud",
                        Amount::Overcast => "overcast",
                        Amount::Hidden => "sky hidden, vertical visibility",
                    };
                    let tower = match cloud.tower {
                        Some(Tower::Cumulonimbus) => " (cumulonimbus)",
                        Some(Tower::ToweringCumulus) => " (towering cumulus)",
                        None => "",
                    };
                    let base = cloud.base_m.map_or(" at an unknown height".to_owned(), |m| {
                        format!(" at {}\u{a0}m", fixed(m, 0))
                    });
                    out.push(format!("{amount}{base}{tower}"));
                }
            }
        }
        match &self.shear {
            None => {}
            Some(Shear::Runway { which }) => out.push(format!("wind shear reported ({which})")),
            Some(Shear::AtHeight { height_m, from_deg, speed_m_s }) => out.push(format!(
                "wind shear: from {from_deg:03.0}° at {}\u{a0}m/s at {}\u{a0}m",
                fixed(*speed_m_s, 1),
                fixed(*height_m, 0)
            )),
        }
        out
    }
}
