//! Reading forty columns of numbers, proposing a map for them, and what a plot takes of a long channel.

use fly::csv::read_csv;
use fly::map::{Column, ColumnMap, Entry, TimeForm, TimeSource};
use fly::propose::propose;
use fly::recording::Quantity;

fn main() {
    divan::main();
}

/// About 8 MB: numbers of the lengths that recordings have.
fn text() -> Vec<u8> {
    let mut text = String::from("t (s)");
    for i in 1..40 {
        text += &format!(",servo {i} (us)");
    }
    text.push('\n');
    for row in 0..25_000 {
        let t = f64::from(row) * 0.004;
        text += &format!("{t:.3}");
        for i in 1..40 {
            text += &format!(",{:.3}", 1500.0 + 400.0 * (t * 0.1 * f64::from(i)).sin());
        }
        text.push('\n');
    }
    text.into_bytes()
}

fn map() -> ColumnMap {
    ColumnMap {
        delimiter: b',',
        decimal_comma: false,
        comment: None,
        skip_lines: 0,
        header_lines: 1,
        header_in_comment: false,
        time: TimeSource::Column { column: Column::Number(1), form: TimeForm::Number { seconds: 1.0 } },
        entries: (2..=40)
            .map(|i| Entry::plain(Column::Number(i), Quantity::Servo(format!("{i}")), "us"))
            .collect(),
    }
}

#[divan::bench]
fn forty_columns(bencher: divan::Bencher<'_, '_>) {
    let (text, map) = (text(), map());
    bencher
        .counter(divan::counter::BytesCount::new(text.len()))
        .bench_local(|| read_csv(divan::black_box(&text), &map));
}

#[divan::bench(sample_count = 10)]
fn proposing_forty_columns(bencher: divan::Bencher<'_, '_>) {
    let text = text();
    bencher
        .counter(divan::counter::BytesCount::new(text.len()))
        .bench_local(|| propose(divan::black_box(&text)));
}

/// Ten minutes at 1 kHz drawn over 1200 pixels.
#[divan::bench]
fn one_channel_for_a_plot(bencher: divan::Bencher<'_, '_>) {
    let times: Vec<f64> = (0..600_000).map(|i| f64::from(i) * 0.001).collect();
    let values: Vec<f64> = times.iter().map(|t| (t * 3.0).sin()).collect();
    bencher.bench_local(|| {
        fly::decimate::decimate(divan::black_box(&times), divan::black_box(&values), 0.0, 600.0, 1200)
    });
}
