//! Which weather is it? Code table 4678 of WMO No. 306: intensity, descriptor, phenomena.

/// One weather group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phenomena {
    /// Light, moderate or heavy.
    pub intensity: Intensity,
    /// Whether it is near the station and not at it.
    pub vicinity: bool,
    /// How it comes.
    pub descriptor: Option<Descriptor>,
    /// What falls or hangs in the air, the dominant one first.
    pub kinds: Vec<Kind>,
    /// As coded ("+TSRA").
    pub code: String,
}

/// How strong it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Intensity {
    /// Light.
    Light,
    /// Moderate, or without a strength.
    Moderate,
    /// Heavy; of a funnel cloud: it touches the ground.
    Heavy,
}

macro_rules! coded {
    ($(#[$about:meta])* $name:ident { $($variant:ident $code:literal $words:literal,)* }) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name {
            $(#[doc = $words] $variant,)*
        }

        impl $name {
            const ALL: &'static [(Self, &'static str, &'static str)] = &[$((Self::$variant, $code, $words),)*];

            /// The two letters of the code table.
            #[must_use]
            pub fn code(self) -> &'static str {
                Self::ALL.iter().find(|(v, ..)| *v == self).map_or("", |(_, code, _)| code)
            }

            /// In words.
            #[must_use]
            pub fn words(self) -> &'static str {
                Self::ALL.iter().find(|(v, ..)| *v == self).map_or("", |(.., words)| words)
            }

            fn of(code: &str) -> Option<Self> {
                Self::ALL.iter().find(|(_, c, _)| *c == code).map(|(v, ..)| *v)
            }
        }
    };
}

coded! {
    /// How weather comes.
    Descriptor {
        Shallow "MI" "shallow",
        Patches "BC" "patches of",
        Partial "PR" "partial",
        Drifting "DR" "low drifting",
        Blowing "BL" "blowing",
        Showers "SH" "showers of",
        Thunderstorm "TS" "thunderstorm with",
        Freezing "FZ" "freezing",
    }
}

coded! {
    /// What falls or hangs in the air.
    Kind {
        Drizzle "DZ" "drizzle",
        Rain "RA" "rain",
        Snow "SN" "snow",
        SnowGrains "SG" "snow grains",
        IceCrystals "IC" "ice crystals",
        IcePellets "PL" "ice pellets",
        Hail "GR" "hail",
        SmallHail "GS" "small hail",
        UnknownPrecipitation "UP" "precipitation of unknown kind",
        Mist "BR" "mist",
        Fog "FG" "fog",
        Smoke "FU" "smoke",
        VolcanicAsh "VA" "volcanic ash",
        Dust "DU" "dust",
        Sand "SA" "sand",
        Haze "HZ" "haze",
        Spray "PY" "spray",
        DustWhirls "PO" "dust whirls",
        Squalls "SQ" "squalls",
        FunnelCloud "FC" "funnel cloud",
        Sandstorm "SS" "sandstorm",
        Duststorm "DS" "duststorm",
    }
}

impl Kind {
    /// Whether it falls from the sky.
    #[must_use]
    pub fn falls(self) -> bool {
        matches!(
            self,
            Self::Drizzle
                | Self::Rain
                | Self::Snow
                | Self::SnowGrains
                | Self::IceCrystals
                | Self::IcePellets
                | Self::Hail
                | Self::SmallHail
                | Self::UnknownPrecipitation
        )
    }
}

impl Phenomena {
    /// Reads a weather group of the code table; none where the table does not have it.
    #[must_use]
    pub fn read(group: &str) -> Option<Self> {
        let (intensity, vicinity, rest) = if let Some(rest) = group.strip_prefix('-') {
            (Intensity::Light, false, rest)
        } else if let Some(rest) = group.strip_prefix('+') {
            (Intensity::Heavy, false, rest)
        } else if let Some(rest) = group.strip_prefix("VC") {
            (Intensity::Moderate, true, rest)
        } else {
            (Intensity::Moderate, false, group)
        };
        if rest.is_empty()
            || rest.len() % 2 != 0
            || rest.len() > 8
            || !rest.bytes().all(|b| b.is_ascii_uppercase())
        {
            return None;
        }
        let mut descriptor = None;
        let mut kinds = Vec::new();
        for (i, pair) in rest.as_bytes().chunks(2).enumerate() {
            let code = std::str::from_utf8(pair).ok()?;
            match (Descriptor::of(code), Kind::of(code)) {
                (Some(d), _) if i == 0 => descriptor = Some(d),
                (_, Some(kind)) if !kinds.contains(&kind) => kinds.push(kind),
                _ => return None,
            }
        }
        let found = Self { intensity, vicinity, descriptor, kinds, code: group.to_owned() };
        found.is_of_the_table().then_some(found)
    }

    /// Whether intensity, descriptor and phenomena go together in the code table.
    fn is_of_the_table(&self) -> bool {
        let all = |of: &[Kind]| !self.kinds.is_empty() && self.kinds.iter().all(|k| of.contains(k));
        let falls = !self.kinds.is_empty() && self.kinds.iter().all(|k| k.falls());
        let together = match self.descriptor {
            None if self.kinds.is_empty() => false,
            // Several phenomena in one group are all precipitation, or precipitation with what it brings.
            None => self.kinds.len() == 1 || falls,
            Some(Descriptor::Shallow | Descriptor::Patches | Descriptor::Partial) => all(&[Kind::Fog]),
            Some(Descriptor::Drifting | Descriptor::Blowing) => {
                all(&[Kind::Snow, Kind::Sand, Kind::Dust, Kind::Spray])
            }
            Some(Descriptor::Showers) => self.kinds.is_empty() && self.vicinity || falls,
            Some(Descriptor::Thunderstorm) => self.kinds.is_empty() || falls,
            Some(Descriptor::Freezing) => {
                let freezes = [Kind::Drizzle, Kind::Rain, Kind::UnknownPrecipitation];
                all(&[Kind::Fog]) || falls && self.kinds.first().is_some_and(|k| freezes.contains(k))
            }
        };
        let strength = match self.intensity {
            Intensity::Moderate => true,
            // Only what falls, blows or whirls has a strength; light or heavy mist is not in the table.
            Intensity::Light | Intensity::Heavy => {
                matches!(
                    self.descriptor,
                    Some(Descriptor::Thunderstorm | Descriptor::Blowing | Descriptor::Showers)
                ) || self.kinds.iter().any(|k| {
                    k.falls()
                        || matches!(
                            k,
                            Kind::DustWhirls | Kind::FunnelCloud | Kind::Sandstorm | Kind::Duststorm
                        )
                })
            }
        };
        let near = !self.vicinity
            || matches!(
                (self.descriptor, self.kinds.as_slice()),
                (Some(Descriptor::Thunderstorm | Descriptor::Showers), [])
                    | (Some(Descriptor::Blowing), [_])
                    | (
                        None,
                        [Kind::Fog
                            | Kind::FunnelCloud
                            | Kind::DustWhirls
                            | Kind::Sandstorm
                            | Kind::Duststorm
                            | Kind::VolcanicAsh]
                    )
            );
        together && strength && near
    }

    /// Whether it is a thunderstorm, here or near.
    #[must_use]
    pub fn thunders(&self) -> bool {
        self.descriptor == Some(Descriptor::Thunderstorm)
    }

    /// Whether it brings wind that no model aircraft bears: squalls, funnel clouds, storms of sand or dust, whirls.
    #[must_use]
    pub fn storms(&self) -> bool {
        self.kinds.iter().any(|k| {
            matches!(
                k,
                Kind::Squalls | Kind::FunnelCloud | Kind::Sandstorm | Kind::Duststorm | Kind::DustWhirls
            )
        })
    }

    /// Whether something falls from the sky, here or near.
    #[must_use]
    pub fn falls(&self) -> bool {
        self.kinds.iter().any(|k| k.falls()) || self.descriptor == Some(Descriptor::Showers)
    }

    /// Whether it freezes where it falls or hangs.
    #[must_use]
    pub fn freezes(&self) -> bool {
        self.descriptor == Some(Descriptor::Freezing)
    }

    /// In words, "heavy thunderstorm with rain".
    #[must_use]
    pub fn words(&self) -> String {
        let mut words: Vec<&str> = Vec::new();
        match self.intensity {
            Intensity::Light => words.push("light"),
            Intensity::Heavy => words.push("heavy"),
            Intensity::Moderate => {}
        }
        let kinds: Vec<&str> = self.kinds.iter().map(|k| k.words()).collect();
        let kinds = kinds.join(" and ");
        match self.descriptor {
            Some(Descriptor::Thunderstorm) if kinds.is_empty() => words.push("thunderstorm"),
            Some(Descriptor::Showers) if kinds.is_empty() => words.push("showers"),
            Some(d) => words.push(d.words()),
            None => {}
        }
        words.push(&kinds);
        if self.vicinity {
            words.push("in the vicinity");
        }
        words.retain(|w| !w.is_empty());
        words.join(" ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_of_the_code_table_are_read_and_others_are_not() {
        // By hand from code table 4678.
        for (code, words) in [
            ("+TSRA", "heavy thunderstorm with rain"),
            ("-RASN", "light rain and snow"),
            ("VCSH", "showers in the vicinity"),
            ("FZFG", "freezing fog"),
            ("BCFG", "patches of fog"),
            ("TS", "thunderstorm"),
            ("BLSN", "blowing snow"),
            ("SHRAGS", "showers of rain and small hail"),
            ("+FC", "heavy funnel cloud"),
            ("HZ", "haze"),
        ] {
            assert_eq!(Phenomena::read(code).map(|p| p.words()).as_deref(), Some(words), "{code}");
        }
        for code in [
            "",
            "+",
            "VC",
            "RARA",
            "TSFG",
            "MIRA",
            "BLRA",
            "-BR",
            "+HZ",
            "FZ",
            "MI",
            "SH",
            "VCRA",
            "XXRA",
            "RATS",
            "TSRASNGRPLUP",
            "ra",
            "RÄ",
            "VC-RA",
            "-VCSH",
            "FGRA",
        ] {
            assert_eq!(Phenomena::read(code), None, "{code}");
        }
    }
}
