//! GHCN-Daily, CSV with header, a row a day: `STATION`, `DATE`, then for each element a column and a column
//! `<element>_ATTRIBUTES` with measurement flag, quality flag, source flag and perhaps the time of observation,
//! separated by commas.
//!
//! The bulk files of this layout are in tenths of °C and tenths of mm; files ordered by hand may be in °C and mm or
//! in °F and inches. Therefore it is read only when a person says that it is in tenths, and a decimal point is
//! refused.

use jiff::civil::Date;

use super::{
    by_station::clock,
    cell, each_row,
    error::WeatherError,
    gather::{Element, Gather, Ghcn},
};

struct Column {
    element: Element,
    value: usize,
    attributes: usize,
}

pub(super) fn read(text: &[u8], name: &str, gather: &mut Gather) -> Result<(), WeatherError> {
    let mut reader = super::csv_reader(text, true);
    let header =
        |got: &csv::ByteRecord| got.iter().map(|c| String::from_utf8_lossy(c).into_owned()).collect::<Vec<_>>();
    let names = header(reader.byte_headers().map_err(|error| bad_header(name, "", error.to_string()))?);
    let find = |wanted: &str| names.iter().position(|n| n.eq_ignore_ascii_case(wanted));
    let need = |wanted: &str| {
        find(wanted).ok_or_else(|| bad_header(name, &names.join(","), format!("there is no column `{wanted}`")))
    };
    let (station, date) = (need("STATION")?, need("DATE")?);
    let mut columns = Vec::new();
    for (wanted, element) in [("TMAX", Element::Tmax), ("TMIN", Element::Tmin), ("PRCP", Element::Precip)] {
        if let Some(value) = find(wanted) {
            // Without its flags a value that failed a check could not be told from a good one.
            columns.push(Column { element, value, attributes: need(&format!("{wanted}_ATTRIBUTES"))? });
        }
    }
    each_row(reader, names.len(), gather, |number, row, gather| {
        let Ok(day) = cell(row, date).parse::<Date>() else {
            return gather.bad(number, "a day as YYYY-MM-DD", cell(row, date));
        };
        if !gather.of_station(number, cell(row, station)) {
            return;
        }
        for column in &columns {
            let (value, attributes) = (cell(row, column.value), cell(row, column.attributes));
            read_cell(number, day, column.element, value, attributes, gather);
        }
    });
    Ok(())
}

fn read_cell(line: usize, day: Date, element: Element, value: &str, attributes: &str, gather: &mut Gather) {
    let value = match value {
        "" | "-9999" => None,
        text => match text.parse::<i32>() {
            Ok(value) => Some(value),
            Err(_) => {
                gather.bad(
                    line,
                    "a whole number of tenths (a decimal point means that the file is in °C, °F, mm or in)",
                    text,
                );
                return;
            }
        },
    };
    let parts: Vec<&str> = attributes.split(',').collect();
    if value.is_some() && !(3..=4).contains(&parts.len()) {
        gather.bad(line, "three flags and perhaps a time of observation, separated by commas", attributes);
        return;
    }
    let flag = |at: usize| parts.get(at).and_then(|p| p.chars().next()).unwrap_or(' ');
    let observed_at = parts.get(3).and_then(|text| clock(text));
    gather.ghcn(Ghcn { line, day, element, value, measurement_flag: flag(0), quality_flag: flag(1), observed_at });
}

fn bad_header(name: &str, got: &str, problem: String) -> WeatherError {
    WeatherError::BadHeader { name: name.to_owned(), got: got.chars().take(120).collect(), problem }
}
