//! Sheets of observations: from CSV or XLSX into the journal.
//!
//! 1. [`Table::read`] reads the file into rows of cells, within limits.
//! 2. [`Engine::propose_mapping`] says what the columns mean: a mapping that is kept for such columns, or a guess from
//!    the words of the kinds, which a person confirms.
//! 3. [`Engine::plan_import`] reads every row by the path that typed lines take ([`crate::entry`]) and finds what the
//!    journal has already. Nothing is written yet.
//! 4. [`Engine::import_planned`] records what is new, all of it or nothing.

mod csv;
mod dates;
mod guess;
mod key;
mod mapping;
mod plan;
mod rows;
mod table;
#[cfg(test)]
mod tests;
mod xlsx;

use std::path::Path;

use ligule_observation::kind::ResultType;
use ligule_units::Unit;
use serde::Serialize;

pub use dates::DateOrder;
pub(crate) use key::{is_imported as imported_visit, under as imported_under};
pub use mapping::{Column, DecimalMark, Mapping, Role};
pub use plan::{Further, Plan, RowLine, State};
pub use rows::Told;
pub use table::{Encoding, Reading, Table};

use crate::Engine;
use crate::error::{EngineError, Result, known};
use crate::phrases::{Noun, Phrase};
use dates::Evidence;
use mapping::Kept;
use table::Cell;

/// What a person says about the columns.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    /// A mapping that is kept, by name, or a file of one.
    pub mapping: Option<String>,
    /// The kind of every row.
    pub kind: Option<String>,
    /// Columns by name, and what they tell.
    pub columns: Vec<(String, String)>,
    /// The order of dates of numbers alone.
    pub dates: Option<DateOrder>,
    /// Whether commas are decimals.
    pub decimal: Option<DecimalMark>,
}

/// Where a mapping comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// From the words of the header; a person confirms it.
    Guess,
    /// It is kept under this name.
    Kept(String),
    /// From a file.
    File,
}

/// What the columns of a sheet mean, as far as can be told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proposal {
    /// The mapping, with a column for each of the sheet.
    pub mapping: Mapping,
    /// The same as it is to be kept: an order of dates that only this sheet tells says nothing of the next one.
    pub lasting: Mapping,
    /// Where it comes from.
    pub origin: Origin,
    /// Whether a person changed something, so that it is to be confirmed and kept anew.
    pub changed: bool,
    /// What a person should know of it.
    pub notes: Vec<String>,
}

/// One column of a proposal, for people.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ColumnLine {
    /// Its name in the sheet.
    pub column: String,
    /// What it tells.
    pub tells: String,
    /// The unit of its bare numbers, and where it is only supposed, that.
    pub unit: String,
    /// The first cell that is not empty.
    pub first: String,
}

/// One mapping that is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MappingLine {
    /// Its name.
    pub name: String,
    /// The kind of its rows; empty where a column tells it.
    pub kind: String,
    /// What the columns tell, those that tell nothing left out.
    pub columns: String,
}

impl Engine {
    /// Says what the columns of a sheet mean.
    ///
    /// *Errors:* the kind cannot be told; dates of which some can be read in one order only and some in the other only,
    /// unless `wanted` says how. One that can be read in two ways is an error of its row.
    pub fn propose_mapping(&self, table: &Table, wanted: &Wanted) -> Result<Proposal> {
        let kind = wanted.kind.as_deref().map(|name| self.kind(name)).transpose()?;
        if let Some(kind) = kind.filter(|kind| kind.feature == "weather") {
            let what = self.reading.say(Phrase::ObservedAtStation, &[("kind", &kind.kind)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::ImportWeather)));
        }
        let (mapping, origin) = self.found_mapping(table, wanted)?;
        let mut mapping = mapping.arranged(table)?;
        let before = mapping.clone();
        if let Some(kind) = kind {
            mapping.kind = Some(kind.kind.clone());
        }
        let kind = mapping.kind.as_deref().map(|name| self.kind(name)).transpose()?;
        for (header, meaning) in &wanted.columns {
            let places: Vec<usize> = (0..table.header.len()).filter(|at| table.header[*at] == header.trim()).collect();
            let [place] = places.as_slice() else {
                let what = if places.is_empty() { Phrase::NoSuchColumn } else { Phrase::SeveralColumns };
                return Err(EngineError::user(
                    self.reading.say(what, &[("header", header)]),
                    self.reading.known(Phrase::ColumnsAre, header, table.header.iter().cloned()),
                ));
            };
            let column = Column::read(&table.header[*place], meaning, self.kinds(), kind, &self.reading)?;
            // What a person says takes the place of a guess about another column.
            for other in &mut mapping.columns {
                if other.is == column.is && other.measure == column.measure {
                    *other = Column::of(&other.header, Role::Nothing);
                }
            }
            mapping.columns[*place] = column;
        }
        mapping.dates = wanted.dates.or(mapping.dates);
        mapping.decimal = wanted.decimal.or(mapping.decimal);
        let mut notes = Vec::new();
        let told = mapping.dates;
        if told.is_none() {
            mapping.dates = self.order_of_dates(table, &mapping, &mut notes)?;
        }
        let mut doubles = Vec::new();
        if origin == Origin::Guess {
            self.one_name_twice(table, &mapping)?;
            doubles = guess::doubles(self.kinds(), &mapping);
            doubles.retain(|(column, other)| {
                wanted.columns.iter().all(|(header, _)| header.trim() != column.header && header.trim() != other)
            });
        }
        for (column, other) in &doubles {
            let (header, meaning) = (&column.header, column.meaning());
            let with: [(&str, &dyn std::fmt::Display); 4] = [
                ("header", header),
                ("measure", &column.measure.as_deref().unwrap_or_default()),
                ("other", other),
                ("say", &format!("--column \"{header}={meaning}\"")),
            ];
            notes.push(self.reading.say(Phrase::ColumnTwice, &with));
        }
        let idle = |column: &&Column| {
            column.is == Role::Nothing
                && !column.header.is_empty()
                && doubles.iter().all(|(double, _)| double.header != column.header)
        };
        let idle: Vec<String> = mapping.columns.iter().filter(idle).map(|c| format!("`{}`", c.header)).collect();
        if !idle.is_empty() {
            notes.push(self.reading.say(Phrase::NothingOfColumns, &[("columns", &idle.join(", "))]));
        }
        if table.hidden > 0 {
            notes.push(self.reading.say(Phrase::HiddenRows, &[("n", &self.reading.counted(table.hidden, Noun::Row))]));
        }
        if origin == Origin::Guess {
            self.units_untold(&mut mapping, &mut notes);
        }
        let lasting = Mapping { dates: told, ..mapping.clone() };
        let changed = lasting != before;
        Ok(Proposal { mapping, lasting, origin, changed, notes })
    }

    /// Refuses to guess which of two columns of one name is meant, where they differ.
    fn one_name_twice(&self, table: &Table, mapping: &Mapping) -> Result<()> {
        for (place, column) in mapping.columns.iter().enumerate().filter(|(_, column)| column.is != Role::Nothing) {
            let idle = |at: &usize| mapping.columns[*at].is == Role::Nothing && table.header[*at] == column.header;
            for other in (0..table.header.len()).filter(idle) {
                let differs = |row: &&table::Row| row.cells[place].shown() != row.cells[other].shown();
                let Some(row) = table.rows.iter().filter(|row| row.fault.is_none()).find(differs) else { continue };
                let (one, two) = (row.cells[place].shown(), row.cells[other].shown());
                let with: [(&str, &dyn std::fmt::Display); 4] =
                    [("header", &column.header), ("line", &row.line), ("one", &one), ("other", &two)];
                return Err(EngineError::user(
                    self.reading.say(Phrase::OneNameTwice, &with),
                    self.reading.word(Phrase::RenameColumn),
                ));
            }
        }
        Ok(())
    }

    /// Gives columns whose header tells no unit the one in which this crew types a bare number.
    fn units_untold(&self, mapping: &mut Mapping, notes: &mut Vec<String>) {
        let kind = mapping.kind.as_deref().and_then(|kind| self.kinds().get(kind));
        let beside: Vec<Option<String>> =
            mapping.columns.iter().filter(|c| c.is == Role::UnitOf).map(|c| c.measure.clone()).collect();
        for column in &mut mapping.columns {
            let untold = column.is == Role::Measure && column.unit.is_none() && !beside.contains(&column.measure);
            let measure = kind.zip(column.measure.as_deref()).and_then(|(kind, name)| kind.measure(name));
            let kept = measure.and_then(|measure| Some((measure, Unit::by_ucum(measure.unit.as_deref()?)?)));
            let Some((measure, kept)) = kept.filter(|_| untold) else { continue };
            let read = self.reading.unit_read(measure, kept);
            if read != kept {
                let with: [(&str, &dyn std::fmt::Display); 2] = [("header", &column.header), ("unit", &read.symbol)];
                notes.push(self.reading.say(Phrase::UnitTaken, &with));
                column.unit = Some(read.symbol.to_owned());
            }
        }
    }

    fn found_mapping(&self, table: &Table, wanted: &Wanted) -> Result<(Mapping, Origin)> {
        let kept = Kept::of(&self.folder);
        if let Some(name) = &wanted.mapping {
            let is_name = !name.contains(['/', '\\', '.']);
            if is_name && let Some(mapping) = kept.named(name)? {
                return Ok((mapping, Origin::Kept(name.clone())));
            }
            if is_name && !Path::new(name).is_file() {
                let names = kept.all()?.into_iter().map(|(name, _)| name);
                return Err(EngineError::user(format!("there is no mapping `{name}`"), known("mappings", name, names)));
            }
            return Ok((mapping::read(Path::new(name))?, Origin::File));
        }
        match kept.of_header(&table.header, wanted.kind.as_deref())? {
            Some((name, mapping)) => Ok((mapping, Origin::Kept(name))),
            None => {
                let kind = wanted.kind.as_deref().map(|name| self.kind(name)).transpose()?;
                // Where a person names columns, the guess need not find a kind by itself.
                let guess = guess::guess(self.kinds(), table, kind, &self.reading)?;
                Ok((guess, Origin::Guess))
            }
        }
    }

    /// Finds in which order the days of a sheet are written.
    fn order_of_dates(&self, table: &Table, mapping: &Mapping, notes: &mut Vec<String>) -> Result<Option<DateOrder>> {
        let mut order = None;
        for (place, column) in mapping.columns.iter().enumerate() {
            let measure = column.measure.as_deref().and_then(|name| {
                mapping.kind.as_deref().and_then(|kind| self.kinds().get(kind)).and_then(|kind| kind.measure(name))
            });
            let of_days = column.is == Role::Measure && measure.is_some_and(|m| m.result == ResultType::Day);
            if column.is != Role::Day && !of_days {
                continue;
            }
            let texts = table.rows.iter().filter_map(|row| match &row.cells[place] {
                Cell::Text(text) => Some(text.as_str()),
                _ => None,
            });
            let header = &column.header;
            match dates::order_of(texts) {
                Evidence::None => {}
                Evidence::Clear(found, example) => {
                    let dates = if found == DateOrder::Mdy { Phrase::DatesMdy } else { Phrase::DatesDmy };
                    notes.push(self.reading.say(dates, &[("example", &example), ("header", header)]));
                    order = Some(found);
                }
                // Each row says so by itself.
                Evidence::Ambiguous => {}
                Evidence::Mixed(one, other) => {
                    let line = |text: &str| {
                        let there = table.rows.iter().find(|row| row.cells[place].shown() == text);
                        let reason = format!("`{text}`");
                        let told = |line| {
                            self.reading.say(Phrase::RowAt, &[("line", line), ("place", &""), ("reason", &reason)])
                        };
                        there.map_or_else(|| reason.clone(), |row| told(&row.line))
                    };
                    let with: [(&str, &dyn std::fmt::Display); 3] =
                        [("header", header), ("one", &line(&one)), ("other", &line(&other))];
                    let mixed = self.reading.say(Phrase::DatesMixed, &with);
                    return Err(EngineError::user(mixed, self.reading.word(Phrase::MendDates)));
                }
            }
        }
        Ok(order)
    }

    /// Tells a mapping to people, column by column.
    pub fn mapping_lines(&self, table: &Table, mapping: &Mapping) -> Vec<ColumnLine> {
        let kind = mapping.kind.as_deref().and_then(|kind| self.kinds().get(kind));
        let line = |(place, column): (usize, &Column)| {
            let measure = column.measure.as_deref().and_then(|name| match kind {
                Some(kind) => kind.measure(name),
                None => self.kinds().iter().find_map(|kind| kind.measure(name)),
            });
            let measure = measure.filter(|_| column.is == Role::Measure);
            let own = measure.and_then(|measure| measure.unit.as_deref()).and_then(Unit::by_ucum);
            let beside = mapping.columns.iter().find(|c| c.is == Role::UnitOf && c.measure == column.measure);
            let unit = match (&column.unit, beside, own) {
                (_, Some(beside), Some(_)) => self.reading.say(Phrase::UnitBeside, &[("header", &beside.header)]),
                (Some(unit), ..) => unit.clone(),
                (None, _, Some(own)) if !own.symbol.is_empty() => {
                    self.reading.say(Phrase::UnitUntold, &[("unit", &own.symbol)])
                }
                _ => String::new(),
            };
            let tells = match (&column.measure, column.is) {
                (Some(measure), Role::Measure) => measure.clone(),
                _ => column.meaning(),
            };
            let first = table.rows.iter().map(|row| &row.cells[place]).find(|cell| !cell.is_empty()).map(Cell::shown);
            ColumnLine { column: column.header.clone(), tells, unit, first: first.unwrap_or_default() }
        };
        mapping.columns.iter().enumerate().map(line).collect()
    }

    /// Keeps a mapping for the next sheet with the same columns; returns the name under which it is kept.
    pub fn keep_mapping(&self, name: Option<&str>, mapping: &Mapping) -> Result<String> {
        Kept::of(&self.folder).keep(name, mapping)
    }

    /// Lists the mappings that are kept.
    pub fn mappings(&self) -> Result<Vec<MappingLine>> {
        let all = Kept::of(&self.folder).all()?;
        let line = |(name, mapping): (String, Mapping)| {
            let telling = mapping.columns.iter().filter(|column| column.is != Role::Nothing);
            let columns: Vec<String> = telling.map(|c| format!("{} = {}", c.header, c.meaning())).collect();
            MappingLine { name, kind: mapping.kind.unwrap_or_default(), columns: columns.join(", ") }
        };
        Ok(all.into_iter().map(line).collect())
    }

    /// Returns the text of a mapping that is kept.
    pub fn mapping_text(&self, name: &str) -> Result<String> {
        let kept = Kept::of(&self.folder);
        let mapping = kept.named(name)?.ok_or_else(|| {
            let names = kept.all().unwrap_or_default().into_iter().map(|(name, _)| name);
            EngineError::user(format!("there is no mapping `{name}`"), known("mappings", name, names))
        })?;
        mapping::written(&mapping)
    }

    /// Removes a mapping that is kept.
    pub fn remove_mapping(&self, name: &str) -> Result<()> {
        Kept::of(&self.folder).remove(name)
    }
}
