//! GHCN-Daily, CSV by station, without header: a row for each station, day and element.
//!
//! *Source:* NOAA National Centers for Environmental Information, GHCN-Daily `readme-by_station.txt`: station,
//! `YYYYMMDD`, element, value, measurement flag, quality flag, source flag, time of observation (`HHMM`). Units and
//! flags as in the `.dly` files.

use jiff::civil::Date;

use super::gather::{Element, Gather, Ghcn};

/// Tells whether the cells of a first line may be of this layout.
pub(super) fn looks_like(cells: &[String]) -> bool {
    (7..=8).contains(&cells.len())
        && cells[1].len() == 8
        && cells[1].bytes().all(|b| b.is_ascii_digit())
        && cells[2].len() == 4
}

pub(super) fn read(text: &[u8], gather: &mut Gather) {
    let mut reader = super::csv_reader(text, false);
    let mut row = csv::ByteRecord::new();
    loop {
        match reader.read_byte_record(&mut row) {
            Ok(true) => {}
            Ok(false) => return,
            Err(error) => {
                gather.line();
                gather.bad(reader.position().line() as usize, "CSV", error.to_string());
                return;
            }
        }
        gather.line();
        let number = row.position().map_or(0, |p| p.line() as usize);
        let cells: Vec<&str> = row.iter().map(|cell| std::str::from_utf8(cell).unwrap_or("\u{fffd}")).collect();
        if !(7..=8).contains(&cells.len()) {
            let expected = "8 fields: station, YYYYMMDD, element, value, three flags, time of observation";
            gather.bad(number, expected, format!("{} fields: {}", cells.len(), cells.join(",")));
            continue;
        }
        read_row(number, &cells, gather);
    }
}

fn read_row(number: usize, cells: &[&str], gather: &mut Gather) {
    let Some(day) = basic_date(cells[1]) else {
        gather.bad(number, "a day as YYYYMMDD", cells[1]);
        return;
    };
    if cells[0].is_empty() || cells[0].len() > 11 {
        gather.bad(number, "a station code of at most 11 characters", cells[0]);
        return;
    }
    if !gather.of_station(number, cells[0]) {
        return;
    }
    let Some(element) = Element::of_ghcn(cells[2]) else { return };
    let Ok(value) = cells[3].parse::<i32>() else {
        gather.bad(number, "a whole number of tenths (or -9999)", cells[3]);
        return;
    };
    let observed_at = match cells.get(7).copied().unwrap_or("") {
        "" => None,
        text => match clock(text) {
            Some(at) => Some(at),
            None => {
                gather.bad(number, "a time of observation as HHMM, or nothing", text);
                return;
            }
        },
    };
    let flag = |at: usize| cells[at].chars().next().unwrap_or(' ');
    gather.ghcn(Ghcn {
        line: number,
        day,
        element,
        value: (value != -9999).then_some(value),
        measurement_flag: flag(4),
        quality_flag: flag(5),
        observed_at,
    });
}

/// Reads `YYYYMMDD`.
fn basic_date(text: &str) -> Option<Date> {
    if text.len() != 8 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    Date::new(text[..4].parse().ok()?, text[4..6].parse().ok()?, text[6..].parse().ok()?).ok()
}

/// Reads `HHMM`, 24:00 included; leading zeros may have been lost.
pub(super) fn clock(text: &str) -> Option<u16> {
    let at: u16 = text.parse().ok().filter(|_| text.bytes().all(|b| b.is_ascii_digit()))?;
    (at <= 2400 && at % 100 < 60).then_some(at)
}
