//! From rows of cells to observations as people type them: what `record` is given, and where each value stands.

use std::collections::HashMap;

use jiff::Timestamp;
use jiff::civil::{Date, Time};
use ligule_observation::kind::{Kind, Measure, ResultType};
use ligule_observation::kinds::KindSet;
use ligule_units::Unit;

use super::dates;
use super::guess::{kind_named, measure_named, unit_word};
use super::mapping::{Column, DecimalMark, Mapping, Role, day_measure, unit_fits};
use super::table::{Cell, Row, Table};
use crate::Entry;
use crate::one_unit::one_unit;
use crate::phrases::Phrase;
use crate::reading::Reading;

/// What is told beside the sheet, the same for every row.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Told {
    /// The field, where no cell tells it.
    pub field: Option<String>,
    /// The day or time, as typed, where no cell tells it.
    pub on: Option<String>,
    /// Who observed, where no cell tells it.
    pub by: Option<String>,
}

impl Told {
    /// Returns what is told.
    pub(super) fn roles(&self) -> Vec<Role> {
        let told = [(&self.field, Role::Field), (&self.on, Role::Day), (&self.by, Role::By)];
        told.into_iter().filter(|(text, _)| text.is_some()).map(|(_, role)| role).collect()
    }
}

/// What is wrong with a cell or a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wrong {
    pub(super) line: u64,
    /// The column; empty where it is about the row.
    pub(super) column: String,
    pub(super) value: String,
    pub(super) reason: String,
    pub(super) hint: Option<String>,
}

/// Where something that an entry tells stands in the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Source {
    pub(super) role: Role,
    pub(super) measure: Option<String>,
    pub(super) line: u64,
    pub(super) column: String,
    pub(super) value: String,
}

/// One observation of the sheet.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Draft {
    pub(super) entry: Entry,
    pub(super) line: u64,
    /// Whether a cell told the time of day.
    pub(super) timed: bool,
    pub(super) sources: Vec<Source>,
    pub(super) wrong: Vec<Wrong>,
    sample: String,
}

/// Makes drafts of the rows of a sheet, in its order, and calls `each` with them. A row is given up as soon as it was read.
pub(super) fn drafts(
    kinds: &KindSet,
    reading: &Reading,
    table: Table,
    mapping: &Mapping,
    told: &Told,
    mut each: impl FnMut(Draft),
) {
    let fixed = mapping.kind.as_deref().and_then(|name| kinds.get(name));
    let Table { header, rows, .. } = table;
    let reader = Rows { kinds, reading, header: &header, mapping, told, fixed };
    if mapping.is_long() {
        return long(&reader, rows).into_iter().for_each(each);
    }
    rows.into_iter().for_each(|row| each(reader.wide(&row)));
}

/// Puts together the rows of a sheet of which each tells one value.
fn long(reader: &Rows<'_>, rows: Vec<Row>) -> Vec<Draft> {
    let by_sample = reader.mapping.column(Role::Sample).is_some();
    let mut drafts: Vec<Draft> = Vec::new();
    let mut known: HashMap<[String; 6], usize> = HashMap::new();
    for row in rows {
        let one = reader.long(&row);
        let entry = &one.entry;
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let whole = [
            entry.kind.clone(),
            entry.field.clone(),
            text(&entry.at),
            text(&entry.by),
            text(&entry.place),
            one.sample.clone(),
        ];
        let before = known.get(&whole).copied().filter(|at| by_sample || at + 1 == drafts.len());
        // Without samples a measure that comes again starts the next observation.
        let again =
            |draft: &Draft| one.entry.values.iter().any(|(name, _)| draft.entry.values.iter().any(|(n, _)| n == name));
        match before.map(|at| &mut drafts[at]).filter(|draft| by_sample || !again(draft)) {
            Some(draft) => {
                draft.entry.values.extend(one.entry.values);
                draft.sources.extend(one.sources);
                draft.wrong.extend(one.wrong);
            }
            None => {
                known.insert(whole, drafts.len());
                drafts.push(one);
            }
        }
    }
    drafts.iter_mut().for_each(|draft| reader.own_day(draft));
    drafts
}

struct Rows<'a> {
    kinds: &'a KindSet,
    /// How people read what is wrong with a row.
    reading: &'a Reading,
    /// The names of the columns.
    header: &'a [String],
    mapping: &'a Mapping,
    told: &'a Told,
    /// The kind of every row, where it is one.
    fixed: Option<&'a Kind>,
}

impl<'a> Rows<'a> {
    /// Reads what a row tells beside its measures; returns its kind, too.
    fn start(&self, row: &Row) -> (Draft, Option<&'a Kind>) {
        let mut draft = Draft { line: row.line, ..Draft::default() };
        if let Some(fault) = &row.fault {
            draft.wrong.push(Wrong {
                line: row.line,
                column: String::new(),
                value: row.cells.iter().map(Cell::shown).collect::<Vec<_>>().join(",").trim_end_matches(',').to_owned(),
                reason: fault.clone(),
                hint: Some(self.reading.word(Phrase::MendRow).to_owned()),
            });
            return (draft, None);
        }
        let kind = self.fixed.or_else(|| {
            let text = self.text(&mut draft, row, Role::Kind).unwrap_or_default();
            let kind = kind_named(self.kinds, &text);
            if kind.is_none() {
                let names = self.kinds.iter().map(|kind| kind.kind.clone());
                let reason = if text.is_empty() {
                    self.reading.word(Phrase::NoKindTold).to_owned()
                } else {
                    self.reading.say(Phrase::NoSuchKind, &[("name", &text)])
                };
                self.wrong(
                    &mut draft,
                    row,
                    self.mapping.column(Role::Kind),
                    reason,
                    Some(self.reading.known(Phrase::KindsAre, &text, names)),
                );
            }
            kind
        });
        draft.entry.kind = kind.map(|kind| kind.kind.clone()).unwrap_or_default();
        match self.text(&mut draft, row, Role::Field).or_else(|| self.told.field.clone()) {
            Some(field) => draft.entry.field = field,
            None => self.says(&mut draft, row, self.mapping.column(Role::Field), Phrase::NoFieldTold),
        }
        draft.entry.by = self.text(&mut draft, row, Role::By).or_else(|| self.told.by.clone());
        if draft.entry.by.as_ref().is_some_and(|by| by.contains(char::is_control)) {
            self.says(&mut draft, row, self.mapping.column(Role::By), Phrase::PlainName);
        }
        draft.sample = self.text(&mut draft, row, Role::Sample).unwrap_or_default();
        self.place(&mut draft, row);
        self.when(&mut draft, row, kind);
        (draft, kind)
    }

    fn wide(&self, row: &Row) -> Draft {
        let (mut draft, kind) = self.start(row);
        let Some(kind) = kind else { return draft };
        for (place, column) in self.mapping.columns.iter().enumerate() {
            let (Role::Measure, Some(name)) = (column.is, &column.measure) else { continue };
            let cell = &row.cells[place];
            if cell.is_empty() {
                continue;
            }
            match kind.measure(name) {
                Some(measure) => {
                    let unit = self.unit_of(&mut draft, row, column, measure);
                    self.value(&mut draft, row, place, measure, unit);
                }
                None => {
                    let reason = self.no_measure(kind, name);
                    self.wrong(&mut draft, row, Some(place), reason, None);
                }
            }
        }
        self.own_day(&mut draft);
        draft
    }

    fn long(&self, row: &Row) -> Draft {
        let (mut draft, kind) = self.start(row);
        let Some(kind) = kind else { return draft };
        let (Some(name_at), Some(value_at)) =
            (self.mapping.column(Role::MeasureName), self.mapping.column(Role::Value))
        else {
            return draft;
        };
        let name = row.cells[name_at].shown();
        let told = self.text(&mut draft, row, Role::Unit).map(|unit| unit_word(&unit)).filter(|unit| unit != "1");
        // The unit may tell which of two is meant: a yield in tonnes.
        let by_unit = told.as_ref().and_then(|unit| measure_named(kind, &format!("{name} ({unit})")));
        let Some((measure, named)) = by_unit.or_else(|| measure_named(kind, &name)) else {
            let names = kind.measures.iter().map(|measure| measure.name.clone());
            let (reason, hint) = (self.no_measure(kind, &name), self.reading.known(Phrase::MeasuresAre, &name, names));
            self.wrong(&mut draft, row, Some(name_at), reason, Some(hint));
            return draft;
        };
        if row.cells[value_at].is_empty() {
            return draft;
        }
        let unit = told.or(named);
        if let Some(unit) = &unit
            && let Err(why) = unit_fits(measure, unit)
        {
            self.wrong(&mut draft, row, self.mapping.column(Role::Unit).or(Some(name_at)), why, None);
            return draft;
        }
        self.value(&mut draft, row, value_at, measure, unit);
        draft
    }

    /// Takes the day of the sheet for that of a planting or a harvest, where no column tells it.
    fn own_day(&self, draft: &mut Draft) {
        let kind = self.kinds.get(&draft.entry.kind);
        let day = kind.and_then(|kind| kind.measures.iter().find(|m| m.result == ResultType::Day && m.required));
        let Some(day) = day else { return };
        let told = draft.entry.values.iter().any(|(name, _)| *name == day.name)
            || self.mapping.columns.iter().any(|column| column.measure.as_deref() == Some(&day.name));
        // An instant is of another day in another zone.
        let at = draft.entry.at.as_deref().filter(|at| at.parse::<Timestamp>().is_err());
        if let (false, Some(Ok(date))) = (told, at.map(str::parse::<Date>)) {
            draft.entry.values.push((day.name.clone(), date.to_string()));
        }
    }

    fn no_measure(&self, kind: &Kind, name: &str) -> String {
        self.reading.say(Phrase::NoSuchMeasure, &[("kind", &kind.kind), ("name", &name)])
    }

    /// Says what is wrong with a row in a sentence that nothing is put in.
    fn says(&self, draft: &mut Draft, row: &Row, place: Option<usize>, phrase: Phrase) {
        self.wrong(draft, row, place, self.reading.word(phrase).to_owned(), None);
    }

    fn wrong(&self, draft: &mut Draft, row: &Row, place: Option<usize>, reason: String, hint: Option<String>) {
        let column = place.map(|place| self.header[place].clone()).unwrap_or_default();
        let value = place.map(|place| row.cells[place].shown()).unwrap_or_default();
        draft.wrong.push(Wrong { line: row.line, column, value, reason, hint });
    }

    fn source(&self, draft: &mut Draft, row: &Row, place: usize, role: Role, measure: Option<&Measure>) {
        draft.sources.push(Source {
            role,
            measure: measure.map(|measure| measure.name.clone()),
            line: row.line,
            column: self.header[place].clone(),
            value: row.cells[place].shown(),
        });
    }

    /// Returns the text of a cell that tells something; nothing where it is empty or cannot be recorded.
    fn text(&self, draft: &mut Draft, row: &Row, role: Role) -> Option<String> {
        let place = self.mapping.column(role)?;
        let cell = &row.cells[place];
        if let Cell::Wrong(_, why) = cell {
            self.wrong(draft, row, Some(place), (*why).to_owned(), None);
            return None;
        }
        self.source(draft, row, place, role, None);
        Some(cell.shown()).filter(|text| !text.is_empty())
    }

    fn place(&self, draft: &mut Draft, row: &Row) {
        let point = |text: String| {
            if self.mapping.decimal == Some(DecimalMark::Comma) { text.replace(',', ".") } else { text }
        };
        draft.entry.place = self.text(draft, row, Role::Place);
        let (latitude, longitude) = (self.text(draft, row, Role::Latitude), self.text(draft, row, Role::Longitude));
        match (latitude.map(point), longitude.map(point)) {
            (Some(latitude), Some(longitude)) => draft.entry.place = Some(format!("{latitude},{longitude}")),
            (None, None) => {}
            _ => {
                let place = self.mapping.column(Role::Latitude);
                self.says(draft, row, place, Phrase::PlaceNeedsBoth);
            }
        }
    }

    /// Reads when it was observed.
    fn when(&self, draft: &mut Draft, row: &Row, kind: Option<&Kind>) {
        let own = self.mapping.column(Role::Day);
        let place = own.or_else(|| kind.and_then(|kind| day_measure(self.mapping, kind)));
        let Some(place) = place.filter(|place| !row.cells[*place].is_empty()) else {
            match &self.told.on {
                Some(on) => draft.entry.at = Some(on.clone()),
                None => self.says(draft, row, place, Phrase::NoDayTold),
            }
            return;
        };
        let text = row.cells[place].shown();
        if own.is_some() && text.parse::<Timestamp>().is_ok() {
            self.source(draft, row, place, Role::Day, None);
            (draft.entry.at, draft.timed) = (Some(text), true);
            return;
        }
        let (day, in_day) = match self.day(&row.cells[place]) {
            Ok(read) => read,
            // What is wrong with a measure is told with the measure.
            Err(_) if own.is_none() => return,
            Err(why) => return self.wrong(draft, row, Some(place), why, None),
        };
        self.source(draft, row, place, Role::Day, None);
        let mut time = in_day.filter(|_| own.is_some());
        if let Some(at) = self.mapping.column(Role::Time).filter(|at| !row.cells[*at].is_empty()) {
            match self.time(&row.cells[at]) {
                Ok(read) => time = Some(read),
                Err(why) => return self.wrong(draft, row, Some(at), why, None),
            }
        }
        draft.timed = time.is_some();
        draft.entry.at = Some(time.map_or_else(|| day.to_string(), |time| day.to_datetime(time).to_string()));
    }

    fn day(&self, cell: &Cell) -> Result<(Date, Option<Time>), String> {
        match cell {
            Cell::Date(at) => Ok((at.date(), Some(at.time()).filter(|time| *time != Time::midnight()))),
            Cell::Text(text) => dates::read(text, self.mapping.dates, self.reading),
            Cell::Wrong(_, why) => Err((*why).to_owned()),
        }
    }

    fn time(&self, cell: &Cell) -> Result<Time, String> {
        match cell {
            Cell::Date(at) => Ok(at.time()),
            Cell::Text(text) => dates::read_time(text.trim(), self.reading),
            Cell::Wrong(_, why) => Err((*why).to_owned()),
        }
    }

    /// Returns the unit of a measure's bare number in this row: what a column beside it tells, or the header.
    fn unit_of(&self, draft: &mut Draft, row: &Row, column: &Column, measure: &Measure) -> Option<String> {
        let beside = |other: &Column| other.is == Role::UnitOf && other.measure == column.measure;
        let beside = self.mapping.columns.iter().position(beside).filter(|place| !row.cells[*place].is_empty());
        let Some(place) = beside else { return column.unit.clone() };
        let unit = unit_word(&row.cells[place].shown());
        if let Err(why) = unit_fits(measure, &unit) {
            self.wrong(draft, row, Some(place), why, None);
        }
        Some(unit)
    }

    /// Takes the value of a measure as one would type it.
    fn value(&self, draft: &mut Draft, row: &Row, place: usize, measure: &Measure, unit: Option<String>) {
        let numeric = matches!(measure.result, ResultType::Quantity | ResultType::Count | ResultType::List);
        let text = match (&row.cells[place], measure.result) {
            (Cell::Wrong(_, why), _) => Err((*why).to_owned()),
            (cell, ResultType::Day) => self.day(cell).map(|(day, _)| day.to_string()),
            (Cell::Date(_), _) if numeric => Err(self.reading.word(Phrase::DateInCell).to_owned()),
            (cell, _) if numeric => self.number(&cell.shown(), measure).and_then(|text| {
                let stated = unit.as_deref().and_then(Unit::by_spelling);
                let text = match stated.or_else(|| Unit::by_ucum(measure.unit.as_deref()?)) {
                    Some(bare) => one_unit(measure, &text, bare, stated.is_some()).map_err(|several| {
                        let refusal = several.refusal(measure, &text, self.reading);
                        [Some(refusal.message), refusal.hint].into_iter().flatten().collect::<Vec<_>>().join("; ")
                    })?,
                    None => text,
                };
                Ok(with_unit(&text, measure, unit.as_deref()))
            }),
            (cell, _) => Ok(cell.shown()),
        };
        match text {
            Ok(text) => {
                draft.entry.values.push((measure.name.clone(), text));
                self.source(draft, row, place, Role::Measure, Some(measure));
            }
            Err(why) => self.wrong(draft, row, Some(place), why, None),
        }
    }

    /// Returns a number, or a list of them, with points for decimals.
    fn number(&self, text: &str, measure: &Measure) -> Result<String, String> {
        let letters: Vec<char> = text.chars().collect();
        let between =
            |mark: char| letters.windows(3).any(|w| w[1] == mark && w[0].is_ascii_digit() && w[2].is_ascii_digit());
        let list = measure.result == ResultType::List;
        match self.mapping.decimal {
            Some(DecimalMark::Comma) if between('.') => {
                Err(self.reading.say(Phrase::PointInNumber, &[("text", &text)]))
            }
            Some(DecimalMark::Comma) if list => {
                // A comma within a number is a decimal one, any other parts the list.
                let mut out = String::new();
                for (at, c) in letters.iter().enumerate() {
                    let digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
                    let decimal = *c == ',' && digit(at.checked_sub(1)) && digit(Some(at + 1));
                    out.push(if decimal { '.' } else { *c });
                }
                Ok(out)
            }
            Some(DecimalMark::Comma) => Ok(text.replace(',', ".")),
            Some(DecimalMark::Point) => Ok(text.to_owned()),
            // In a list commas part the numbers, unless semicolons do or blanks do, too.
            None if between(',') && (!list || text.contains(';')) => {
                Err(self.reading.say(Phrase::CommaInNumber, &[("text", &text)]))
            }
            None => Ok(text.to_owned()),
        }
    }
}

/// Writes the unit behind bare numbers, where it is another than the measure's own.
fn with_unit(text: &str, measure: &Measure, unit: Option<&str>) -> String {
    let Some(unit) = unit else { return text.to_owned() };
    if Unit::by_spelling(unit).is_some_and(|known| measure.unit.as_deref() == Some(known.ucum)) {
        return text.to_owned();
    }
    if measure.result != ResultType::List {
        return if is_bare(text) { format!("{text} {unit}") } else { text.to_owned() };
    }
    let commas = text.contains([',', ';']);
    let items = text.split(|c: char| if commas { c == ',' || c == ';' } else { c.is_whitespace() });
    let items = items.map(str::trim).filter(|item| !item.is_empty()).map(|item| match item.split_once(':') {
        Some((number, times)) if is_bare(number) => format!("{number} {unit}:{times}"),
        None if is_bare(item) => format!("{item} {unit}"),
        _ => item.to_owned(),
    });
    items.collect::<Vec<_>>().join(", ")
}

/// Tells whether a text is a number without a unit.
fn is_bare(text: &str) -> bool {
    text.chars()
        .all(|c| c.is_ascii_digit() || c.is_whitespace() || matches!(c, '.' | '/' | '-' | '+' | '−' | '¼' | '½' | '¾'))
}
