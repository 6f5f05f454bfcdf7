use super::imperial;

/// No-break spaces as plain ones, so that the cases can be read.
fn seen(html: &str) -> String {
    imperial(html).replace('\u{a0}', " ")
}

#[track_caller]
fn check(metric: &str, expected: &str) {
    assert_eq!(seen(metric), expected);
}

/// The number in the first brackets.
#[track_caller]
fn number(metric: &str, unit: &str) -> f64 {
    let out = seen(metric);
    let inside = out.split_once('(').and_then(|(_, rest)| rest.split_once(')')).map(|(inside, _)| inside);
    let text = inside.and_then(|i| i.strip_suffix(unit)).unwrap_or_else(|| panic!("{out}: no {unit}"));
    text.trim().parse().unwrap()
}

#[test]
fn one_of_each_imperial_unit_comes_out_as_one() {
    // NIST Special Publication 811 (2008), appendix B.8: SI value of one unit, as printed there or by the exact
    // definitions it gives (B.6: 1 ft = 0.3048 m, 1 lb = 0.453 592 37 kg; standard gravity 9.806 65 m/s²).
    for (metric, unit) in [
        ("25.4000000 mm", "in"),
        ("2.5400000 cm", "in"),
        ("0.0254000 m", "in"),
        ("1.6093440 km", "mi"),
        ("0.4470400 m/s", "mph"),
        ("1.6093440 km/h", "mph"),
        ("0.4535924 kg", "lb"),
        ("28.3495200 g", "oz"),
        ("4.4482220 N", "lbf"),
        ("0.2780139 N", "ozf"),
        ("0.007061552 N m", "ozf in"),
        ("1.3558180 N m", "lbf ft"),
        ("33.8638900 hPa", "inHg"),
        ("6.4516000 cm2", "in²"),
        ("0.000645160 m²", "in²"),
        ("0.3051517 kg/m²", "oz/ft²"),
        ("3.0515170 g/dm²", "oz/ft²"),
    ] {
        // Seven digits are printed there, and we write six decimals at most.
        let one = number(metric, unit);
        assert!((one - 1.0).abs() <= 1e-6, "{metric} is {one} {unit}");
    }
    // Where one of it is told in a smaller unit: ten of them.
    assert!((number("3.0480000 m", "ft") - 10.0).abs() < 1e-6);
    assert!((number("0.92903040 m²", "ft²") - 10.0).abs() < 1e-6);
}

#[test]
fn temperatures_follow_the_formula_of_the_standard() {
    // SP 811, B.8: t/°F = 1.8 t/°C + 32.
    check("\u{2212}40\u{b0}C", "\u{2212}40\u{b0}C (\u{2212}40 \u{b0}F)");
    check("100 \u{b0}C", "100 \u{b0}C (212 \u{b0}F)");
    check("15\u{b0}C \u{b1} 2\u{b0}C", "15\u{b0}C \u{b1} 2\u{b0}C (59 \u{b1} 4 \u{b0}F)");
    // A difference has no offset: 10 K are 18 degrees Fahrenheit.
    check("colder by 10 \u{b0}C", "colder by 10 \u{b0}C (18 \u{b0}F)");
    check("10 \u{b0}C warmer", "10 \u{b0}C (18 \u{b0}F) warmer");
}

#[test]
fn digits_follow_those_of_the_metric_number() {
    // By hand, with 1 m/s = 2.236936 mph, 1 mm = 0.0393701 in, 1 m = 3.28084 ft, 1 kg = 2.204623 lb, 1 g = 0.0352740 oz.
    check("8.9 \u{b1} 0.4 m/s", "8.9 \u{b1} 0.4 m/s (19.9 \u{b1} 0.9 mph)");
    check("12 m/s", "12 m/s (27 mph)");
    check("12 to 34 mm", "12 to 34 mm (0.47 to 1.34 in)");
    check("2\u{2013}3 m", "2\u{2013}3 m (7\u{2013}10 ft)");
    check("2.35 kg", "2.35 kg (5.18 lb)");
    check("1850 \u{b1} 20 g", "1850 \u{b1} 20 g (65.26 \u{b1} 0.71 oz)");
    check("120 m", "120 m (394 ft)");
    check("between 3 and 5 m/s", "between 3 and 5 m/s (7 and 11 mph)");
    check("legs at 11 and 16 m/s", "legs at 11 and 16 m/s (25 and 36 mph)");
    check("3 points and 5 m/s", "3 points and 5 m/s (11 mph)");
    check("\u{2212}8.0 mm", "\u{2212}8.0 mm (\u{2212}0.315 in)");
    check("doubt \u{b1}3 mm", "doubt \u{b1}3 mm (\u{b1} 0.12 in)");
    check("200 \u{d7} 300 mm", "200 \u{d7} 300 mm (7.87 \u{d7} 11.81 in)");
    check("is 5 m/s, then 3 m.", "is 5 m/s (11 mph), then 3 m (10 ft).");
}

#[test]
fn what_is_no_quantity_of_ours_stays() {
    for text in [
        "2026-06-21 13:00 UTC",
        "3 minutes",
        "5 W, 3 A, 11.1 V, 20 s, 4\u{b0}, 12\u{b0}/s",
        "9.81 m/s\u{b2}",
        "1.2 kg/m\u{b3}",
        "0.03 kg m\u{b2}",
        "a moment of 40 g mm",
        "4 min 20 s",
        "2200 mAh",
        "12 \u{b5}s",
        "47.3N 8.5E",
        "A3 m",
        "7 million",
        "revision 3",
        "vibrates by 8.3 g (one standard deviation)",
        "The touch-down was an impact: 12 g.",
        "1e3 m",
        "1,200 m",
        "20 ms",
        "",
    ] {
        assert_eq!(seen(text), text);
    }
}

#[test]
fn a_number_and_its_unit_may_stand_in_neighbours() {
    check("<b>8.9</b> m/s", "<b>8.9</b> m/s (19.9 mph)");
    check("<b>8.9</b><span>m/s</span>", "<b>8.9</b><span>m/s (19.9 mph)</span>");
    check("<b>8.9</b> \u{b1} <b>0.4</b> m/s", "<b>8.9</b> \u{b1} <b>0.4</b> m/s (19.9 \u{b1} 0.9 mph)");
    check("<b>12</b> to <b>34</b> mm", "<b>12</b> to <b>34</b> mm (0.47 to 1.34 in)");
    check("<i>\u{2212}8.0</i> mm", "<i>\u{2212}8.0</i> mm (\u{2212}0.315 in)");
    check("<td>12</td><td>mm</td>", "<td>12</td><td>mm (0.47 in)</td>");
    // A cell that begins with a letter is no unit, and neither is the next paragraph.
    check("<td>3</td><td>m up</td>", "<td>3</td><td>m up</td>");
    check("<p>3</p><p>m</p>", "<p>3</p><p>m</p>");
    check("<b>3</b> points at 5 mm", "<b>3</b> points at 5 mm (0.20 in)");
}

#[test]
fn nothing_but_what_is_read_is_touched() {
    for html in [
        "<input value=\"12 mm\" placeholder='3 m'>",
        "<a title=\"5 m > 3 m\" href=\"?a=3 m\">x</a>",
        "<textarea>12 mm\n3 m/s</textarea>",
        "<script>let a = '3 m'; if (1<b) {}</script>",
        "<style>.a{content:'3 m'}</style>",
        "<pre>3 m</pre>",
        "<code>3 m</code>",
        "<svg><title>3 m</title><text x=\"1\">12 mm</text><svg><text>3 m</text></svg><text>4 m</text></svg>",
        "<option>3 m</option>",
        "<output>3 m/s</output>",
        "<!-- 3 m -->",
        "<p title=\"3 m",
        "<script>3 m",
        "<output>3</output> m/s",
    ] {
        assert_eq!(seen(html), html);
    }
    check("<pre>1 m</pre>2 m", "<pre>1 m</pre>2 m (7 ft)");
}

/// A small generator of numbers, so that each run tries the same documents.
struct Dice(u64);

impl Dice {
    fn throw(&mut self, sides: usize) -> usize {
        // Knuth's multiplicative generator, MMIX constants.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % sides
    }
}

const MARKUP: [&str; 12] = [
    "<b>",
    "</b>",
    "<td>",
    "</td>",
    "<p class=\"a\" title=\"3 m/s\">",
    "<br>",
    "<input value=\"7 mm\">",
    "<textarea name=a>5 mm and <b>6 kg</b></textarea>",
    "<script>if (3<m) { '4 m' }</script>",
    "<svg viewBox=\"0 0 3 4\"><text>12 mm</text></svg>",
    "<!-- 9 m -->",
    "<code>8 kg</code>",
];

const TEXT: [&str; 20] = [
    "8.9 \u{b1} 0.4 m/s",
    "12 to 34 mm",
    "3",
    " ",
    "m",
    " m/s and ",
    "\u{a0}kg",
    "\u{2212}5 \u{b0}C",
    " \u{b1} ",
    "0.5",
    " to ",
    "12 mm (0.47 in)",
    "Möwe 漢 4 N m.",
    "&lt;5 m&gt;",
    "7\u{a0}g",
    "1-2 m",
    "between 3 and 4 km",
    "5 mm (two of them)",
    "1013 hPa",
    "\u{2014}",
];

#[test]
fn whatever_the_document_markup_and_metric_words_stay_and_twice_is_once() {
    let mut dice = Dice(20_260_621);
    for _ in 0..4000 {
        let mut pieces: Vec<(bool, &str)> = Vec::new();
        for _ in 0..1 + dice.throw(14) {
            if dice.throw(5) < 3 {
                pieces.push((true, TEXT[dice.throw(TEXT.len())]));
            } else {
                pieces.push((false, MARKUP[dice.throw(MARKUP.len())]));
            }
        }
        let html: String = pieces.iter().map(|(_, piece)| *piece).collect();
        let once = imperial(&html);
        assert_eq!(imperial(&once), once, "{html}");
        let mut rest = once.as_str();
        for (text, piece) in &pieces {
            if *text {
                // Letter by letter, with additions between them but no tag.
                for letter in piece.chars() {
                    let at = rest.find(letter).unwrap_or_else(|| panic!("{letter} is gone: {html}\n{once}"));
                    assert!(!rest[..at].contains(['<', '>']), "{html}\n{once}");
                    rest = &rest[at + letter.len_utf8()..];
                }
            } else {
                let at = rest.find('<').unwrap_or_else(|| panic!("{piece} is gone: {html}\n{once}"));
                rest = rest[at..].strip_prefix(piece).unwrap_or_else(|| panic!("{piece}: {html}\n{once}"));
            }
        }
    }
}
