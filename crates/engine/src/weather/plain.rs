//! CSV with a header: `date`, `tmin`, `tmax` and perhaps `precip`, each with its unit (`tmin_c`, `tmax (F)`,
//! `precip_mm`, `precip (in)`).

use jiff::civil::Date;

use super::{
    cell,
    decimal::{Unit, tenths},
    each_row,
    error::WeatherError,
    gather::{Element, Gather},
    series::Warning,
};

struct Column {
    at: usize,
    element: Element,
    unit: Unit,
}

pub(super) fn read(text: &[u8], name: &str, gather: &mut Gather) -> Result<(), WeatherError> {
    let mut reader = super::csv_reader(text, true);
    let headers = reader.byte_headers().map_err(|error| bad_header(name, "", error.to_string()))?.clone();
    let names: Vec<String> = headers.iter().map(|c| String::from_utf8_lossy(c).into_owned()).collect();
    let (date, columns, unread) = read_header(&names).map_err(|problem| bad_header(name, &names.join(","), problem))?;
    if !unread.is_empty() {
        gather.warn(Warning::UnreadColumns { names: unread });
    }
    each_row(reader, names.len(), gather, |number, row, gather| {
        let Some(day) = read_day(cell(row, date)) else {
            return gather.bad(number, "a day as YYYY-MM-DD or YYYY/MM/DD", cell(row, date));
        };
        for column in &columns {
            let text = cell(row, column.at);
            if matches!(text, "" | "NA" | "-9999") {
                gather.plain(number, day, column.element, None, text);
                continue;
            }
            match tenths(text, column.unit) {
                Some(value) => {
                    if !value.exact {
                        gather.rounded();
                    }
                    gather.plain(number, day, column.element, Some(value.value), text);
                }
                None => gather.bad(
                    number,
                    format!(
                        "a number such as `12.8` in column `{}` (nothing, `NA` or `-9999` when missing)",
                        names[column.at]
                    ),
                    text,
                ),
            }
        }
    });
    Ok(())
}

/// Year first, so that a day cannot be taken for a month.
fn read_day(text: &str) -> Option<Date> {
    let parts: Vec<&str> = text.split(['-', '/']).collect();
    let [year, month, day] = parts[..] else { return None };
    if year.len() != 4 || month.len() != 2 || day.len() != 2 {
        return None;
    }
    Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?).ok()
}

type Header = (usize, Vec<Column>, Vec<String>);

fn read_header(names: &[String]) -> Result<Header, String> {
    if let [only] = names
        && only.contains([';', '\t'])
    {
        return Err("the fields are not separated by commas".to_owned());
    }
    let mut date = None;
    let mut columns: Vec<Column> = Vec::new();
    let mut unread = Vec::new();
    for (at, name) in names.iter().enumerate() {
        let lower = name.to_lowercase();
        let mut words = lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
        let word = words.next().unwrap_or("");
        let unit: String = words.collect();
        let element = match word {
            "date" | "day" if date.is_none() => {
                date = Some(at);
                continue;
            }
            "tmax" => Element::Tmax,
            "tmin" => Element::Tmin,
            "precip" | "precipitation" | "prcp" => Element::Precip,
            _ => {
                unread.push(name.clone());
                continue;
            }
        };
        let unit = match (element, unit.as_str()) {
            (Element::Precip, "mm") => Unit::Millimetre,
            (Element::Precip, "in" | "inch" | "inches" | "ini") => Unit::Inch,
            (Element::Tmax | Element::Tmin, "c" | "cel" | "degc" | "celsius") => Unit::Celsius,
            (Element::Tmax | Element::Tmin, "f" | "degf" | "fahrenheit") => Unit::Fahrenheit,
            (Element::Precip, other) => return Err(unit_problem(name, other, "precip_mm", "precip_in")),
            (Element::Tmax, other) => return Err(unit_problem(name, other, "tmax_c", "tmax_f")),
            (Element::Tmin, other) => return Err(unit_problem(name, other, "tmin_c", "tmin_f")),
        };
        if columns.iter().any(|c| c.element == element) {
            return Err(format!("column `{name}` is there twice"));
        }
        columns.push(Column { at, element, unit });
    }
    let date = date.ok_or("there is no column `date`")?;
    for (element, word) in [(Element::Tmin, "tmin"), (Element::Tmax, "tmax")] {
        if !columns.iter().any(|c| c.element == element) {
            return Err(format!("there is no column `{word}` with a unit"));
        }
    }
    Ok((date, columns, unread))
}

fn unit_problem(name: &str, unit: &str, metric: &str, customary: &str) -> String {
    if unit.is_empty() {
        format!("column `{name}` has no unit: expected `{metric}` or `{customary}`")
    } else {
        format!("column `{name}` is in `{unit}`: expected `{metric}` or `{customary}`")
    }
}

fn bad_header(name: &str, got: &str, problem: String) -> WeatherError {
    WeatherError::BadHeader { name: name.to_owned(), got: got.chars().take(120).collect(), problem }
}
