//! GHCN-Daily, fixed width: a line for each station, month and element.
//!
//! *Source:* NOAA National Centers for Environmental Information, GHCN-Daily readme, section III: station 1–11,
//! year 12–15, month 16–17, element 18–21, then for each of 31 days value (5 columns), measurement flag, quality
//! flag, source flag. Tenths of °C, tenths of mm; −9999 is missing; a quality flag that is not blank tells that
//! the value failed a check.

use jiff::civil::Date;

use super::gather::{Element, Gather, Ghcn};

const HEAD: usize = 21;
const BLOCK: usize = 8;
const WIDTH: usize = HEAD + 31 * BLOCK;
/// A line may have lost the blanks of its last three flags to an editor.
const SHORTEST: usize = WIDTH - 3;

/// Tells whether a line may be of this layout.
pub(super) fn looks_like(line: &str) -> bool {
    line.is_ascii()
        && line.len() >= HEAD + 5
        && line.as_bytes()[11..17].iter().all(u8::is_ascii_digit)
        && line.as_bytes()[17..21].iter().all(u8::is_ascii_alphanumeric)
        && !line.contains(',')
}

pub(super) fn read(text: &[u8], gather: &mut Gather) {
    for (number, bytes) in super::lines(text) {
        gather.line();
        let Some(line) = std::str::from_utf8(bytes).ok().filter(|l| l.is_ascii()) else {
            gather.bad(number, "ASCII text", String::from_utf8_lossy(bytes));
            continue;
        };
        if !(SHORTEST..=WIDTH).contains(&line.len()) {
            gather.bad(number, format!("{WIDTH} columns"), format!("{} columns: {line}", line.len()));
            continue;
        }
        read_month(number, line, gather);
    }
}

fn read_month(number: usize, line: &str, gather: &mut Gather) {
    let (Ok(year), Ok(month)) = (line[11..15].parse::<i16>(), line[15..17].parse::<i8>()) else {
        gather.bad(number, "year and month as six digits in columns 12 to 17", &line[11..17]);
        return;
    };
    let Ok(first) = Date::new(year, month, 1) else {
        gather.bad(number, "a month from 01 to 12 in columns 16 and 17", &line[15..17]);
        return;
    };
    if !gather.of_station(number, line[..11].trim_end()) {
        return;
    }
    let Some(element) = Element::of_ghcn(&line[17..21]) else { return };
    for d in 1..=31_i8 {
        let start = HEAD + BLOCK * (d as usize - 1);
        let cell = &line[start..start + 5];
        let Ok(value) = cell.trim_start().parse::<i32>() else {
            gather.bad(number, format!("a whole number for day {d} in columns {} to {}", start + 1, start + 5), cell);
            continue;
        };
        let value = (value != -9999).then_some(value);
        let flag = |at: usize| line.as_bytes().get(start + at).map_or(' ', |b| char::from(*b));
        match Date::new(year, month, d) {
            Ok(day) => gather.ghcn(Ghcn {
                line: number,
                day,
                element,
                value,
                measurement_flag: flag(5),
                quality_flag: flag(6),
                observed_at: None,
            }),
            Err(_) if value.is_some() => {
                let expected =
                    format!("-9999 for day {d}: {} has {} days", first.strftime("%Y-%m"), first.days_in_month());
                gather.bad(number, expected, cell);
            }
            Err(_) => {}
        }
    }
}
