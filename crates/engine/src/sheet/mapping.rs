//! What the columns of a sheet mean, and keeping that for the next sheet with the same columns.

use std::path::{Path, PathBuf};

use ligule_observation::kind::{Kind, Measure};
use ligule_observation::kinds::KindSet;
use ligule_units::Unit;
use serde::{Deserialize, Serialize};

use super::dates::DateOrder;
use super::table::Table;
use crate::error::{EngineError, Fault, Result, known};
use crate::phrases::Phrase;
use crate::reading::Reading;

/// The version of the file of a mapping that this program writes.
const FORMAT: u32 = 1;

/// What the columns of a sheet mean. Kept as TOML; told in `schemas/journal/README.md`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// The version of the format.
    pub format: u32,
    /// The kind of every row, unless a column tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// The order of dates of numbers alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dates: Option<DateOrder>,
    /// Whether a comma in a number is a decimal one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decimal: Option<DecimalMark>,
    /// The columns.
    #[serde(rename = "column")]
    pub columns: Vec<Column>,
}

/// What stands between the whole and the decimals of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DecimalMark {
    /// A point: `17.42`.
    Point,
    /// A comma: `17,42`.
    Comma,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Column {
    /// Its name in the sheet.
    pub header: String,
    /// What it tells.
    pub is: Role,
    /// The measure that it tells, or of which it tells the unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measure: Option<String>,
    /// The unit of its bare numbers, as people write it; without it they are in the measure's own unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

/// What a column tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The field, by name or id.
    Field,
    /// The kind of observation.
    Kind,
    /// The day on which it was observed, perhaps with the time.
    Day,
    /// The time of day.
    Time,
    /// Who observed.
    By,
    /// Latitude and longitude, as `42.03,-93.62`.
    Place,
    /// Degrees north.
    Latitude,
    /// Degrees east.
    Longitude,
    /// A number or name of the sample: rows of a long sheet that have the same are one observation. It is not recorded.
    Sample,
    /// A measure.
    Measure,
    /// The unit of a measure's column.
    UnitOf,
    /// The name of the row's measure, in a sheet with a row for each value.
    MeasureName,
    /// The value of the row's measure.
    Value,
    /// The unit of the row's value.
    Unit,
    /// Nothing that is recorded.
    Nothing,
}

impl Role {
    /// Every role with the word for it.
    pub const WORDS: [(Self, &'static str); 15] = [
        (Self::Field, "field"),
        (Self::Kind, "kind"),
        (Self::Day, "day"),
        (Self::Time, "time"),
        (Self::By, "by"),
        (Self::Place, "place"),
        (Self::Latitude, "latitude"),
        (Self::Longitude, "longitude"),
        (Self::Sample, "sample"),
        (Self::Measure, "measure"),
        (Self::UnitOf, "unit-of"),
        (Self::MeasureName, "measure-name"),
        (Self::Value, "value"),
        (Self::Unit, "unit"),
        (Self::Nothing, "nothing"),
    ];

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(role, _)| *role == self).map_or("nothing", |(_, word)| word)
    }
}

impl Column {
    /// Returns a column that tells something other than a measure.
    pub fn of(header: &str, is: Role) -> Self {
        Self { header: header.to_owned(), is, measure: None, unit: None }
    }

    /// Writes what it tells as a person may type it: `day`, `row in cm`, `unit-of row`, `nothing`.
    pub fn meaning(&self) -> String {
        match (self.is, &self.measure, &self.unit) {
            (Role::Measure, Some(measure), Some(unit)) => format!("{measure} in {unit}"),
            (Role::Measure, Some(measure), None) => measure.clone(),
            (Role::UnitOf, Some(measure), _) => format!("unit-of {measure}"),
            (role, ..) => role.word().to_owned(),
        }
    }

    /// Reads what a column tells, as a person typed it.
    pub fn read(header: &str, meaning: &str, kinds: &KindSet, kind: Option<&Kind>, reading: &Reading) -> Result<Self> {
        let meaning = meaning.trim();
        let measure_named = |name: &str| {
            measure_of(kinds, kind, name).ok_or_else(|| {
                let words = Role::WORDS.iter().filter(|(role, _)| !matches!(role, Role::Measure | Role::UnitOf));
                let measures = kind.into_iter().flat_map(|kind| &kind.measures).map(|measure| measure.name.clone());
                let words = words.map(|(_, word)| (*word).to_owned()).chain(measures);
                EngineError::user(
                    reading.say(Phrase::NoSuchMeaning, &[("header", &header), ("name", &name)]),
                    reading.known(Phrase::MeaningsAre, name, words),
                )
            })
        };
        if let Some(name) = meaning.strip_prefix("unit-of ") {
            let measure = measure_named(name.trim())?.name.clone();
            return Ok(Self { measure: Some(measure), ..Self::of(header, Role::UnitOf) });
        }
        let role =
            Role::WORDS.iter().find(|(role, word)| *word == meaning && !matches!(role, Role::Measure | Role::UnitOf));
        // A measure of the kind has its name before the sheet's own things: a planting's `day`.
        let own = kind.and_then(|kind| kind.measure(meaning));
        match (own, role) {
            (None, Some((role, _))) => Ok(Self::of(header, *role)),
            _ => {
                let (name, unit) = match meaning.split_once(" in ") {
                    Some((name, unit)) => (name.trim(), Some(unit.trim().to_owned())),
                    None => (meaning, None),
                };
                let measure = measure_named(name)?.name.clone();
                Ok(Self { measure: Some(measure), unit, ..Self::of(header, Role::Measure) })
            }
        }
    }
}

/// Returns a measure by name or flag: of the kind, or of any where no kind is known.
fn measure_of<'a>(kinds: &'a KindSet, kind: Option<&'a Kind>, name: &str) -> Option<&'a Measure> {
    match kind {
        Some(kind) => kind.measure(name),
        None => kinds.iter().find_map(|kind| kind.measure(name)),
    }
}

impl Mapping {
    /// Returns a mapping of columns that tell nothing yet.
    pub fn blank(header: &[String], kind: Option<String>) -> Self {
        let columns = header.iter().map(|header| Column::of(header, Role::Nothing)).collect();
        Self { format: FORMAT, kind, dates: None, decimal: None, columns }
    }

    /// Returns where the column with a role is.
    pub fn column(&self, role: Role) -> Option<usize> {
        self.columns.iter().position(|column| column.is == role)
    }

    /// Tells whether the sheet has a row for each value.
    pub fn is_long(&self) -> bool {
        self.column(Role::MeasureName).is_some()
    }

    /// Arranges the columns as a sheet has them.
    ///
    /// *Errors:* a column that tells something is not in the sheet, or is there twice.
    pub fn arranged(&self, table: &Table) -> Result<Self> {
        if self.columns.iter().map(|column| &column.header).eq(&table.header) {
            return Ok(self.clone());
        }
        let mut arranged = Self { columns: Self::blank(&table.header, None).columns, ..self.clone() };
        for column in self.columns.iter().filter(|column| column.is != Role::Nothing) {
            let mut places = table.header.iter().enumerate().filter(|(_, header)| **header == column.header);
            match (places.next(), places.next()) {
                (Some((place, _)), None) => arranged.columns[place] = column.clone(),
                (Some(_), Some(_)) => {
                    let twice = format!("the sheet has two columns `{}`", column.header);
                    return Err(EngineError::user(twice, "rename one of them"));
                }
                (None, _) => {
                    return Err(EngineError::user(
                        format!("the mapping tells of a column `{}`, which the sheet does not have", column.header),
                        known("columns", &column.header, table.header.iter().cloned()),
                    ));
                }
            }
        }
        Ok(arranged)
    }

    /// Checks that the mapping tells what a row needs, with the words of `kinds`.
    ///
    /// `told` says which things are told beside the sheet, the same for every row.
    pub fn check(&self, kinds: &KindSet, told: &[Role], reading: &Reading) -> Result<()> {
        let wrong = |what: String, hint: String| Err(EngineError::user(what, hint));
        if self.format != FORMAT {
            return wrong(
                format!("the mapping has format {}, not {FORMAT}", self.format),
                "a newer ligule reads it".into(),
            );
        }
        let kind = match &self.kind {
            Some(name) => Some(crate::Engine::kind_of(kinds, name, reading)?),
            None if self.column(Role::Kind).is_none() => {
                return wrong(
                    reading.word(Phrase::KindUntold).to_owned(),
                    reading.word(Phrase::SayWhichKind).to_owned(),
                );
            }
            None => None,
        };
        for (place, column) in self.columns.iter().enumerate() {
            let again = |other: &Column| other.is == column.is && other.measure == column.measure;
            if column.is != Role::Nothing
                && let Some(other) = self.columns[..place].iter().find(|other| again(other))
            {
                let with: [(&str, &dyn std::fmt::Display); 3] =
                    [("one", &other.header), ("other", &column.header), ("meaning", &column.meaning())];
                return wrong(
                    reading.say(Phrase::BothTell, &with),
                    reading.say(Phrase::SayWhichIdle, &[("header", &column.header)]),
                );
            }
            self.check_column(kinds, kind, column)?;
        }
        let has = |role| self.column(role).is_some();
        let days = kind.is_some_and(|kind| day_measure(self, kind).is_some());
        // A column that tells something already is none to be named for something else, but a time may stand with its day.
        let free = self.columns.iter().find(|column| column.is == Role::Nothing && !column.header.is_empty());
        let named = |column: Option<&Column>| {
            column.map_or(reading.word(Phrase::WordColumn).to_owned(), |column| column.header.clone())
        };
        let example = named(free);
        let timed = named(self.column(Role::Time).map(|place| &self.columns[place]).or(free));
        let untold = |role| !has(role) && !told.contains(&role);
        for (lacks, what, hint, example) in [
            (untold(Role::Field), Phrase::FieldUntold, Phrase::NameFieldColumn, &example),
            (untold(Role::Day) && !days, Phrase::DayUntold, Phrase::NameDayColumn, &timed),
        ] {
            if lacks {
                return wrong(reading.word(what).to_owned(), reading.say(hint, &[("header", example)]));
            }
        }
        if has(Role::Latitude) != has(Role::Longitude) {
            let (what, hint) = (Phrase::PlaceNeedsBoth, Phrase::NameBothOrNeither);
            return wrong(reading.word(what).to_owned(), reading.word(hint).to_owned());
        }
        match (self.is_long(), has(Role::Value)) {
            (true, true) | (false, false) => {}
            _ => {
                let (what, hint) = (Phrase::LongNeedsBoth, Phrase::NameBothLong);
                return wrong(reading.word(what).to_owned(), reading.word(hint).to_owned());
            }
        }
        if !self.is_long() && !self.columns.iter().any(|column| column.is == Role::Measure) {
            let what = reading.word(Phrase::NoColumnMeasures).to_owned();
            let of = |kind: &Kind| {
                let required = kind.measures.iter().find(|measure| measure.required);
                required.or(kind.measures.first()).map(|measure| measure.name.clone())
            };
            let measure = kind.and_then(of).unwrap_or_else(|| "plants".to_owned());
            let with: [(&str, &dyn std::fmt::Display); 2] = [("header", &example), ("measure", &measure)];
            return wrong(what, reading.say(Phrase::NameMeasureColumn, &with));
        }
        Ok(())
    }

    fn check_column(&self, kinds: &KindSet, kind: Option<&Kind>, column: &Column) -> Result<()> {
        let named = matches!(column.is, Role::Measure | Role::UnitOf);
        let name = match (&column.measure, named) {
            (Some(name), true) => name,
            (None, false) => return Ok(()),
            _ => {
                return Err(EngineError::user(
                    format!(
                        "`{}` of the mapping: `measure` stands with a measure or its unit, and nowhere else",
                        column.header
                    ),
                    "mend the mapping",
                ));
            }
        };
        let Some(measure) = measure_of(kinds, kind, name) else {
            let names = kind.into_iter().flat_map(|kind| &kind.measures).map(|measure| measure.name.clone());
            let of = kind.map_or_else(String::new, |kind| format!(" of `{}`", kind.kind));
            return Err(EngineError::user(
                format!("`{}`: there is no measure `{name}`{of}", column.header),
                known("measures", name, names),
            ));
        };
        if let Some(text) = &column.unit {
            unit_fits(measure, text).map_err(|why| {
                EngineError::user(
                    format!("the column `{}`: {why}", column.header),
                    format!("say the unit, as in `--column \"{}={name} in UNIT\"`", column.header),
                )
            })?;
        }
        Ok(())
    }
}

/// Returns the unit that a text means for a measure.
///
/// *Errors:* in words, why it cannot be its unit.
pub(super) fn unit_fits(measure: &Measure, text: &str) -> std::result::Result<&'static Unit, String> {
    let own = measure.unit.as_deref().and_then(Unit::by_ucum);
    let own = own.ok_or_else(|| format!("`{}` has no unit, so it cannot be in `{text}`", measure.name))?;
    let unit = Unit::by_spelling(text).ok_or_else(|| format!("`{text}` is no unit that this program knows"))?;
    if unit.dimension != own.dimension {
        let (got, expected) = (unit.dimension.noun(), own.dimension.noun());
        return Err(format!("`{text}` is {got}, and `{}` is {expected}", measure.name));
    }
    Ok(unit)
}

/// Returns the first day that a kind's measures tell and that has a column: when a sheet tells no other day, it is that.
pub(super) fn day_measure(mapping: &Mapping, kind: &Kind) -> Option<usize> {
    let day = |name: &str| kind.measure(name).is_some_and(|m| m.result == ligule_observation::kind::ResultType::Day);
    mapping.columns.iter().position(|column| column.is == Role::Measure && column.measure.as_deref().is_some_and(day))
}

/// The mappings that a journal keeps, in the folder `mappings` beside it.
pub(super) struct Kept(PathBuf);

impl Kept {
    pub(super) fn of(journal: &Path) -> Self {
        Self(journal.join("mappings"))
    }

    /// Returns every mapping with its name, by name.
    pub(super) fn all(&self) -> Result<Vec<(String, Mapping)>> {
        let entries = match std::fs::read_dir(&self.0) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(EngineError::from(error).at(&self.0)),
        };
        let mut all = Vec::new();
        for entry in entries {
            let path = entry.map_err(|error| EngineError::from(error).at(&self.0))?.path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
                all.push((name, read(&path)?));
            }
        }
        all.sort_by(|a, b| a.0.cmp(&b.0));
        Ok(all)
    }

    /// Returns the mapping of that name.
    pub(super) fn named(&self, name: &str) -> Result<Option<Mapping>> {
        let path = self.path(name)?;
        if path.is_file() { read(&path).map(Some) } else { Ok(None) }
    }

    /// Returns the mapping for a sheet with these columns, of this kind if it is said.
    ///
    /// *Errors:* there are several, and nobody can tell which is meant.
    pub(super) fn of_header(&self, header: &[String], kind: Option<&str>) -> Result<Option<(String, Mapping)>> {
        let mut all = self.all()?;
        all.retain(|(_, mapping)| {
            let same = mapping.columns.iter().map(|column| &column.header).eq(header);
            same && kind.is_none_or(|kind| mapping.kind.as_deref() == Some(kind))
        });
        if all.len() > 1 {
            let names: Vec<String> = all.iter().map(|(name, _)| format!("`{name}`")).collect();
            return Err(EngineError::user(
                format!("several mappings are kept for these columns: {}", names.join(", ")),
                "choose one with `--mapping NAME`, or remove one with `ligule import mapping remove NAME`",
            ));
        }
        Ok(all.pop())
    }

    /// Keeps a mapping: under the name given, or that of the one with the same columns, or a new one. Returns the name.
    pub(super) fn keep(&self, name: Option<&str>, mapping: &Mapping) -> Result<String> {
        let header: Vec<String> = mapping.columns.iter().map(|column| column.header.clone()).collect();
        let name = match name {
            Some(name) => name.to_owned(),
            None => match self.of_header(&header, mapping.kind.as_deref())? {
                Some((name, _)) => name,
                None => self.free_name(mapping.kind.as_deref().unwrap_or("several-kinds"))?,
            },
        };
        let path = self.path(&name)?;
        std::fs::create_dir_all(&self.0).map_err(|error| crate::cannot_write(&self.0, &error))?;
        crate::write_file(&path, written(mapping)?.as_bytes())?;
        Ok(name)
    }

    fn free_name(&self, kind: &str) -> Result<String> {
        let stem: String = kind.replace('.', "-");
        let mut number = 1;
        loop {
            let name = if number == 1 { stem.clone() } else { format!("{stem}-{number}") };
            if !self.path(&name)?.exists() {
                return Ok(name);
            }
            number += 1;
        }
    }

    pub(super) fn remove(&self, name: &str) -> Result<()> {
        let path = self.path(name)?;
        match std::fs::remove_file(&path) {
            Ok(()) => Ok(()),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                let names = self.all()?.into_iter().map(|(name, _)| name);
                Err(EngineError::user(format!("there is no mapping `{name}`"), known("mappings", name, names)))
            }
            Err(error) => Err(EngineError::from(error).at(&path)),
        }
    }

    fn path(&self, name: &str) -> Result<PathBuf> {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        if name.is_empty() || name.len() > 80 || !name.chars().all(plain) {
            return Err(EngineError::user(
                format!("`{name}` cannot be the name of a mapping"),
                "use lower-case letters, digits and dashes, as in `spring-counts`",
            ));
        }
        Ok(self.0.join(format!("{name}.toml")))
    }
}

/// Reads a mapping from a file.
pub(super) fn read(path: &Path) -> Result<Mapping> {
    let text = std::fs::read_to_string(path).map_err(|error| {
        EngineError::user(
            format!("cannot read {}: {error}", path.display()),
            "name a mapping that is kept, or a file of one",
        )
    })?;
    parse(&text).map_err(|error| error.at(path))
}

/// Reads the text of a mapping.
pub(super) fn parse(text: &str) -> Result<Mapping> {
    toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| text[..span.start.min(text.len())].matches('\n').count() + 1);
        EngineError::new(
            Fault::User,
            format!("line {line}: {}", error.message()),
            "mend the mapping, or take the file away and confirm the guess anew",
        )
    })
}

/// Writes a mapping.
pub(super) fn written(mapping: &Mapping) -> Result<String> {
    let text = toml::to_string(mapping);
    let text =
        text.map_err(|error| EngineError::new(Fault::System, format!("the mapping cannot be written: {error}"), ""))?;
    Ok(format!("# What the columns of a sheet mean; made by `ligule import observations`.\n{text}"))
}
