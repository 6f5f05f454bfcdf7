//! Damaged, cut off and odd files: what is whole is read, what is not is told, nothing panics.

use fly::csv::{NotARecording, read_csv};
use fly::map::{Axes, Column, ColumnMap, Entry, TimeForm, TimeSource, Week};
use fly::propose::propose;
use fly::recording::{FlawKind, Quantity as Q, Recording};
use fly::sense;
use fly::{phases, quality};
use proptest::prelude::*;

fn map() -> ColumnMap {
    ColumnMap::from_toml(
        "[time]\ncolumn = \"t\"\nunit = \"s\"\n\
         [[channel]]\ncolumn = \"v\"\nquantity = \"airspeed\"\nunit = \"m/s\"\n\
         [[channel]]\ncolumn = \"h\"\nquantity = \"height\"\nunit = \"m\"\n",
    )
    .unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Rows at 10 Hz with speed 10 + i and height 100 + i / 100.
fn rows(n: usize) -> String {
    let mut text = String::from("t,v,h\n");
    for i in 0..n {
        text += &format!("{:.1},{},{:.2}\n", i as f64 / 10.0, 10 + i, 100.0 + i as f64 / 100.0);
    }
    text
}

#[track_caller]
fn told(r: &Recording, kind: FlawKind, words: &[&str]) {
    let found = r
        .flaws
        .iter()
        .any(|f| f.kind == kind && words.iter().all(|w| f.what.contains(w) || f.place.contains(w)));
    assert!(found, "{kind:?} {words:?} is not told: {:#?}", r.flaws);
}

#[test]
fn a_whole_file_is_read_without_a_word() {
    let r = read_csv(rows(50).as_bytes(), &map()).unwrap();
    assert_eq!((r.rows, r.flaws.len()), (50, 0), "{:?}", r.flaws);
    assert_eq!(r.channel(&Q::Airspeed).unwrap().values[49], 59.0);
}

#[test]
fn bad_rows_are_told_with_line_and_content_and_left_out() {
    let mut lines: Vec<String> = rows(50).lines().map(str::to_owned).collect();
    lines[10] = "1.0,2".into();
    lines[20] = "1.9,1x.9,100.19".into();
    lines[30] = ",39,100.29".into();
    lines[40] = "t,v,h".into();
    let r = read_csv((lines.join("\n") + "\n").as_bytes(), &map()).unwrap();
    assert_eq!(r.rows, 46);
    told(&r, FlawKind::BadRow, &["3 of 49", "line 11", "\"1.0,2\"", "line 21", "1x.9", "line 31"]);
    told(&r, FlawKind::BadRow, &["header stands 1 more times"]);
    assert!(r.channel(&Q::Airspeed).unwrap().values.iter().all(|v| (10.0..60.0).contains(v)));
}

#[test]
fn a_cut_last_line_is_left_out_wherever_it_was_cut() {
    let whole = rows(50);
    let full = whole.trim_end().len();
    let last_line = full - "4.9,59,100.49".len();
    for cut in last_line + 1..full {
        let r = read_csv(&whole.as_bytes()[..cut], &map()).unwrap();
        assert_eq!(r.rows, 49, "cut at {} of {full}", cut);
        told(&r, FlawKind::Truncated, &["last line"]);
    }
    // Whole but for its line end: nothing is missing.
    assert_eq!(read_csv(&whole.as_bytes()[..full], &map()).unwrap().rows, 50);
}

#[test]
fn clocks_that_step_are_repaired_and_told() {
    let mut text = rows(30);
    text += &rows(20).lines().skip(1).map(|l| format!("{l}\n")).collect::<String>();
    text += "9.0,77,101.00\n";
    let r = read_csv(text.as_bytes(), &map()).unwrap();
    assert_eq!(r.rows, 51);
    told(&r, FlawKind::TimeReset, &["line 32", "goes back by 2.9"]);
    told(&r, FlawKind::Gap, &["7.1"]);
    let t = &r.channels[0].time_s;
    assert!(t.windows(2).all(|w| w[1] > w[0]));
}

#[test]
fn text_in_other_encodings_and_with_zero_bytes_is_read() {
    let text = rows(40);
    let mut little = vec![0xff, 0xfe];
    little.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
    let r = read_csv(&little, &map()).unwrap();
    assert_eq!(r.rows, 40);
    told(&r, FlawKind::Encoding, &["UTF-16"]);
    let unmarked: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    assert_eq!(read_csv(&unmarked, &map()).unwrap().rows, 40);
    let marked = [b"\xef\xbb\xbf", text.as_bytes()].concat();
    assert!(read_csv(&marked, &map()).unwrap().flaws.is_empty());
    let tail = [text.as_bytes(), &[0; 512]].concat();
    let r = read_csv(&tail, &map()).unwrap();
    assert_eq!(r.rows, 40);
    told(&r, FlawKind::Truncated, &["512 zero bytes"]);
    let mut holed = text.into_bytes();
    holed[60] = 0;
    let r = read_csv(&holed, &map()).unwrap();
    assert_eq!(r.rows, 39);
    told(&r, FlawKind::BadRow, &["1 of 40"]);
}

#[test]
fn what_is_no_recording_is_refused_with_the_reason() {
    let failure = |bytes: &[u8]| read_csv(bytes, &map()).unwrap_err();
    assert_eq!(failure(b""), NotARecording::Empty);
    assert_eq!(failure(b" \n\n"), NotARecording::Empty);
    assert!(failure(b"PK\x03\x04....").to_string().contains("ZIP"));
    assert!(failure(&[0; 4096]).to_string().contains("zero bytes"));
    let noise: Vec<u8> = (0..4096_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    assert!(matches!(failure(&noise), NotARecording::Binary { .. }));
    let missing = failure(b"time,v,h\n0,1,2\n").to_string();
    assert!(missing.contains("column \"t\"") && missing.contains("time"), "{missing}");
    let nothing = failure(b"t,v,h\nhello,this,is\nno,data,file\n");
    assert!(matches!(nothing, NotARecording::NoNumericRow { .. }), "{nothing}");
    assert!(matches!(propose(b"just some words\nand more words\n"), Err(NotARecording::NoNumericRow { .. })));
    let no_time = propose(b"roll (deg),pitch (deg)\n1,2\n3,1\n2,5\n1,2\n").unwrap_err();
    assert!(matches!(no_time, NotARecording::NoTime { .. }), "{no_time}");
}

#[test]
fn a_column_that_is_not_there_is_told_and_the_others_read() {
    let text = rows(20).replacen("t,v,h", "t,v,height", 1);
    let r = read_csv(text.as_bytes(), &map()).unwrap();
    told(&r, FlawKind::Empty, &["\"h\"", "does not have it"]);
    assert!(r.channel(&Q::Airspeed).is_some() && r.channel(&Q::Height).is_none());
}

#[test]
fn a_quotation_mark_out_of_place_costs_its_row_only() {
    let mut lines: Vec<String> = rows(60).lines().map(str::to_owned).collect();
    lines[12] = "\"1.1,21,100.11".into();
    let r = read_csv((lines.join("\n") + "\n").as_bytes(), &map()).unwrap();
    assert_eq!(r.rows, 59, "{:?}", r.flaws);
}

#[test]
fn a_quoted_cell_over_two_lines_is_one_row() {
    let text = "t,note,v\n0.0,\"a\nb\",1\n0.1,c,2\n0.2,\"d, \"\"e\"\"\",3\n";
    let map = ColumnMap::from_toml(
        "[time]\ncolumn = \"t\"\nunit = \"s\"\n[[channel]]\ncolumn = \"v\"\nquantity = \"airspeed\"\nunit = \"m/s\"\n",
    )
    .unwrap();
    let r = read_csv(text.as_bytes(), &map).unwrap();
    assert_eq!(r.channel(&Q::Airspeed).unwrap().values, [1.0, 2.0, 3.0]);
}

#[test]
fn many_chunks_and_threads_give_what_one_gives() {
    // More than twice the size of a chunk, with bad rows in it, on one thread and on four.
    let mut text = String::with_capacity(11 << 20);
    text += "t,v,h\n";
    for i in 0..400_000 {
        if i % 50_000 == 777 {
            text += "broken\n";
        }
        text += &format!(
            "{:.3},{:.4},{:.6}\n",
            f64::from(i) * 0.004,
            (f64::from(i) * 0.1).sin(),
            f64::from(i) / 7.0
        );
    }
    let on = |n| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(n)
            .build()
            .unwrap()
            .install(|| read_csv(text.as_bytes(), &map()).unwrap())
    };
    let (one, four) = (on(1), on(4));
    assert_eq!(one, four);
    assert_eq!(one.rows, 400_000);
    // Line 1 is the header; the broken line before row i has i rows and j broken lines above it.
    told(&one, FlawKind::BadRow, &["8 of 400008", "line 779 "]);
    assert_eq!(one.channel(&Q::Height).unwrap().values[70_000], 10_000.0);
}

#[test]
fn every_fault_of_a_map_is_told_at_once_with_place_and_nearest_word() {
    let text = "delimter = \",\"\n[time]\ncolumn = \"t\"\nunit = \"sec\"\n\n[[channel]]\ncolumn = \"a\"\n\
                quantity = \"rol-rate\"\nunit = \"deg/s\"\n[[channel]]\ncolumn = 0\nquantity = \"roll\"\n\
                unit = \"degs\"\n[[channel]]\ncolumn = 2\nquantity = \"yaw\"\nunit = \"deg\"\naxes = \"forward-left-up\"\n";
    let faults = ColumnMap::from_toml(text).unwrap_err();
    let has = |line: usize, words: &str, nearest: Option<&str>| {
        assert!(
            faults
                .iter()
                .any(|f| f.line == line && f.what.contains(words) && f.nearest.as_deref() == nearest),
            "{line} {words} {nearest:?}: {faults:#?}"
        );
    };
    has(1, "\"delimter\" is not a key", Some("delimiter"));
    has(4, "unit must be one of", Some("s"));
    has(8, "\"rol-rate\" is not a quantity", Some("roll-rate"));
    has(11, "column must be a header", None);
    has(13, "\"degs\" is not a unit of roll", Some("deg"));
    has(18, "says nothing about yaw", None);
    assert_eq!(faults.len(), 6, "{faults:#?}");
}

fn any_column() -> impl Strategy<Value = Column> {
    prop_oneof![(1_usize..60).prop_map(Column::Number), "[ -~äµ\n\t]{0,20}".prop_map(Column::Header),]
}

fn any_map() -> impl Strategy<Value = ColumnMap> {
    let entry = (
        any_column(),
        0_usize..30,
        any::<bool>(),
        proptest::num::f64::NORMAL,
        -1e6..1e6_f64,
        0_usize..3,
        any::<prop::sample::Index>(),
    );
    (
        prop::sample::select(vec![b',', b';', b'\t', b' ', b'|']),
        any::<bool>(),
        prop::option::of("[#%/]{1,2}"),
        (0_usize..5, 1_usize..4, any::<bool>()),
        any_column(),
        0_usize..12,
        prop::collection::vec(entry, 1..6),
        0.1..1000.0_f64,
    )
        .prop_map(|(delimiter, comma, comment, (skip, lines, in_comment), time, form, entries, rate)| {
            let words = fly::words::quantity_words();
            let mut list: Vec<Entry> = Vec::new();
            for (column, q, negate, scale, offset, axes, unit) in entries {
                let Some(word) = words.get(q) else { continue };
                let units: Vec<_> = fly::words::units_of(word.dimension).collect();
                let axes = Axes::WORDS[axes].1;
                let axes = axes.sign(&word.quantity).map_or(Axes::ForwardRightDown, |_| axes);
                if list.iter().all(|e| e.quantity != word.quantity) {
                    list.push(Entry {
                        column,
                        quantity: word.quantity.clone(),
                        unit: units[unit.index(units.len())].word.to_owned(),
                        negate,
                        offset,
                        scale,
                        axes,
                    });
                }
            }
            if list.is_empty() {
                list.push(Entry::plain(Column::Number(2), Q::Servo("left \"flap\"".into()), "us"));
            }
            let forms = [1.0, 1e-3, 1e-6, 1e-9, 60.0, 3600.0];
            let time = match forms.get(form) {
                Some(seconds) => {
                    TimeSource::Column { column: time, form: TimeForm::Number { seconds: *seconds } }
                }
                None if form == 6 => {
                    TimeSource::Column { column: time, form: TimeForm::Clock { zone_s: 5400.0 } }
                }
                None if form == 7 => {
                    TimeSource::Column { column: time, form: TimeForm::DateTime { zone_s: -34_200.0 } }
                }
                None if form < 11 => {
                    let week = match form {
                        8 => Week::Number(2311),
                        9 => Week::Column(Column::Number(3)),
                        _ => Week::Column(Column::Header("GPS week, \"full\"".into())),
                    };
                    let seconds = if form == 8 { 1e-3 } else { 1.0 };
                    TimeSource::Column { column: time, form: TimeForm::Gps { seconds, week } }
                }
                None => TimeSource::SteadyRate { rate_hz: rate },
            };
            ColumnMap {
                delimiter,
                decimal_comma: comma && delimiter != b',',
                comment,
                skip_lines: skip,
                header_lines: lines,
                header_in_comment: in_comment,
                time,
                entries: list,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn a_map_written_and_read_back_is_the_same(map in any_map()) {
        prop_assert_eq!(ColumnMap::from_toml(&map.to_toml()), Ok(map));
    }

    #[test]
    fn any_bytes_at_all_do_not_panic(bytes in prop::collection::vec(any::<u8>(), 0..600), map in any_map()) {
        let _ = read_csv(&bytes, &map);
        let _ = propose(&bytes);
        let _ = ColumnMap::from_toml(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn any_text_of_numbers_does_not_panic(
        text in "(time|t|roll|lat|lon|v_north \\(m/s\\)|height m|gyro x)(,(roll rate|pitch|accel z|throttle|speed|x)){1,4}\n((-?[0-9]{1,4}(\\.[0-9]{0,3})?|nan||\"|1e9)(,(-?[0-9]{1,4}(\\.[0-9]{0,3})?|nan||\"a)){0,4}[\n\r]{1,2}){0,40}",
    ) {
        if let Ok(p) = propose(text.as_bytes())
            && let Ok(r) = read_csv(text.as_bytes(), &p.map)
        {
            for c in &r.channels {
                prop_assert_eq!(c.time_s.len(), c.values.len());
                prop_assert!(c.time_s.windows(2).all(|w| w[1] > w[0]));
            }
            let _ = (sense::check(&r), phases::find(&r), quality::assess(&r));
        }
    }

    #[test]
    fn values_written_are_the_values_read(values in prop::collection::vec(-1e5..1e5_f64, 2..80)) {
        let mut text = String::from("t,v,h\n");
        for (i, v) in values.iter().enumerate() {
            text += &format!("{},{v},{v:e}\n", i as f64 * 0.5);
        }
        let r = read_csv(text.as_bytes(), &map()).unwrap();
        prop_assert_eq!(&r.channel(&Q::Airspeed).unwrap().values, &values);
        prop_assert_eq!(&r.channel(&Q::Height).unwrap().values, &values);
    }
}
