//! What is written in a layout is read back, whatever the days and the line ends.

use jiff::civil::date;
use proptest::prelude::*;

use super::{WeatherDay, read_text, write};

fn days() -> impl Strategy<Value = Vec<WeatherDay>> {
    let value = (
        prop::option::weighted(0.9, -400..450_i32),
        prop::option::weighted(0.9, 0..250_i32),
        prop::option::weighted(0.8, 0..3000_i32),
    );
    (0..73_000_i64, prop::collection::vec(value, 1..800)).prop_map(|(start, values)| {
        let first = date(1890, 1, 1).checked_add(jiff::Span::new().days(start)).expect("within the calendar");
        let mut day = first;
        values
            .into_iter()
            .map(|(tmax, below, precip)| {
                let today = day;
                day = day.tomorrow().expect("within the calendar");
                WeatherDay {
                    tmax_decidegc: tmax,
                    tmin_decidegc: below.map(|b| tmax.unwrap_or(100) - b),
                    precip_decimm: precip,
                    ..WeatherDay::empty(today)
                }
            })
            .collect()
    })
}

fn with_any(days: &[WeatherDay]) -> Vec<WeatherDay> {
    days.iter()
        .filter(|d| d.tmax_decidegc.is_some() || d.tmin_decidegc.is_some() || d.precip_decimm.is_some())
        .copied()
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_layout_gives_back_what_was_written(days in days(), crlf: bool, bom: bool) {
        let expected = with_any(&days);
        prop_assume!(!expected.is_empty());
        for text in [write::dly("XX000000001", &days), write::by_station("XX000000001", &days), write::plain(&days)] {
            let text = if crlf { text.replace('\n', "\r\n") } else { text };
            let text = if bom { format!("\u{feff}{text}") } else { text };
            let series = read_text(&text).map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert_eq!(with_any(&series.days), expected.clone());
            prop_assert_eq!(series.report.left_out, []);
        }
    }

    #[test]
    fn any_bytes_give_a_series_or_an_error(bytes in prop::collection::vec(any::<u8>(), 0..400), format in 0..5_usize) {
        let format = super::Format::NAMES.get(format).map(|(_, format)| *format);
        let _ = super::read(bytes.as_slice(), "noise", format);
    }

    #[test]
    fn a_damaged_line_never_panics(days in days(), at in any::<prop::sample::Index>(), byte: u8) {
        for text in [write::dly("XX000000001", &days), write::by_station("XX000000001", &days), write::plain(&days)] {
            let mut bytes = text.into_bytes();
            if !bytes.is_empty() {
                let at = at.index(bytes.len());
                bytes[at] = byte;
            }
            let _ = super::read(bytes.as_slice(), "damaged", None);
        }
    }
}
