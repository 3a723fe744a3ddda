//! Guessing what the columns of a sheet mean, from the words that the kinds have for their measures.

use std::collections::HashMap;

use jiff::Timestamp;
use ligule_observation::kind::{Kind, Labels, Measure, ResultType};
use ligule_observation::kinds::KindSet;
use ligule_units::Unit;

use super::dates::{self, DateOrder};
use super::mapping::{Column, Mapping, Role};
use super::table::{Cell, Table};
use crate::error::{EngineError, Result};
use crate::phrases::Phrase;
use crate::reading::Reading;

/// Words that head columns of other things than measures, in English and Spanish, as [`plain`] leaves them.
const WORDS: [(Role, &[&str]); 13] = [
    (Role::Field, &["field", "field name", "field id", "campo", "lote", "parcela", "potrero"]),
    (
        Role::Kind,
        &["kind", "kind of observation", "observation", "observation kind", "tipo", "tipo de observacion", "tema"],
    ),
    (
        Role::Day,
        &[
            "date",
            "day",
            "at",
            "when",
            "observed",
            "observed at",
            "observed on",
            "date time",
            "datetime",
            "timestamp",
            "date and time",
            "scouting date",
            "date scouted",
            "visit date",
            "sample date",
            "fecha",
            "dia",
            "fecha y hora",
            "fecha hora",
            "cuando",
        ],
    ),
    (Role::Time, &["time", "time of day", "hour", "clock", "hora"]),
    (
        Role::By,
        &[
            "by",
            "person",
            "scout",
            "scouted by",
            "observer",
            "observed by",
            "recorded by",
            "crew member",
            "who",
            "persona",
            "observador",
            "observadora",
            "quien",
            "por",
        ],
    ),
    (
        Role::Place,
        &["place", "near", "lat lon", "lat long", "latitude longitude", "coordinates", "gps", "lugar", "coordenadas"],
    ),
    (Role::Latitude, &["lat", "latitude", "latitud"]),
    (Role::Longitude, &["lon", "long", "lng", "longitude", "longitud"]),
    (
        Role::Sample,
        &[
            "sample",
            "sample id",
            "sample no",
            "sample number",
            "point",
            "id",
            "no",
            "number",
            "muestra",
            "punto",
            "numero",
        ],
    ),
    (Role::MeasureName, &["measure", "measured", "property", "variable", "what", "medida", "propiedad"]),
    (Role::Value, &["value", "result", "reading", "valor", "resultado"]),
    (Role::Unit, &["unit", "units", "unidad", "unidades"]),
    (
        Role::Nothing,
        &["notes", "comment", "comments", "remarks", "comentarios", "comentario", "notas", "observaciones"],
    ),
];

/// Further words for measures, as [`plain`] leaves them: of the kind that is named, or of every kind that has the measure.
const ALIASES: [(&str, &str, &[&str]); 10] = [
    ("stand-count", "plants", &["stand", "stand count", "conteo de plantas", "plantas contadas"]),
    (
        "",
        "row_width",
        &[
            "row spacing",
            "distance between rows",
            "distancia entre surcos",
            "espaciamiento entre surcos",
            "distancia entre hileras",
            "entre surcos",
        ],
    ),
    ("stand-count", "length", &["row length", "length counted", "longitud", "longitud de surco", "largo contado"]),
    ("leaf-stage", "collars", &["leaf collars", "visible collars", "collares", "collares visibles"]),
    ("leaf-stage", "stage", &["growth stage", "crop stage", "estado fenologico", "etapa fenologica", "estadio"]),
    ("plant-height", "height", &["plant height", "crop height", "altura de planta", "altura de plantas"]),
    (
        "note",
        "text",
        &[
            "note",
            "notes",
            "comment",
            "comments",
            "remarks",
            "nota",
            "notas",
            "comentario",
            "comentarios",
            "observaciones",
        ],
    ),
    ("harvest", "yield", &["rendimiento"]),
    // Where the unit is a mass; else it is in bushels.
    ("harvest", "yield_mass", &["yield", "rendimiento"]),
    ("yield-estimate", "estimate_mass", &["estimate", "estimacion"]),
];

/// Measures that tell how many were looked at, which by itself is no observation unless the kind needs it.
const SAMPLE: [&str; 2] = ["plants", "plants_examined"];

/// Units by the words that Spanish has for them, as [`plain`] leaves them; the table of units has the English ones.
const SPANISH_UNITS: [(&str, &str); 14] = [
    ("pulg", "in"),
    ("pulgada", "in"),
    ("pulgadas", "in"),
    ("pie", "ft"),
    ("pies", "ft"),
    ("metro", "m"),
    ("metros", "m"),
    ("centimetro", "cm"),
    ("centimetros", "cm"),
    ("milimetros", "mm"),
    ("acre", "ac"),
    ("hectarea", "ha"),
    ("hectareas", "ha"),
    ("por ciento", "%"),
];

/// Guesses what the columns of a sheet tell.
///
/// `kind` is the kind of every row where it is said. *Errors:* the kind cannot be told from the columns.
pub(super) fn guess(kinds: &KindSet, table: &Table, kind: Option<&Kind>, reading: &Reading) -> Result<Mapping> {
    let mut roles: Vec<Option<Role>> = table.header.iter().map(|header| role(header)).collect();
    // In Spanish it is a length, too.
    if !roles.contains(&Some(Role::Latitude)) {
        roles.iter_mut().filter(|role| **role == Some(Role::Longitude)).for_each(|role| *role = None);
    }
    // Remarks stand beside something else, or are what the sheet is about.
    if roles.iter().all(Option::is_some) {
        roles.iter_mut().filter(|role| **role == Some(Role::Nothing)).for_each(|role| *role = None);
    }
    // A column called `time` may hold the day, too.
    if let Some(time) = roles.iter().position(|role| *role == Some(Role::Time))
        && !roles.contains(&Some(Role::Day))
        && table.rows.iter().find(|row| !row.cells[time].is_empty()).is_some_and(|row| tells_day(&row.cells[time]))
    {
        roles[time] = Some(Role::Day);
    }
    let roles = roles;
    let has = |role| roles.contains(&Some(role));
    if kind.is_none() && has(Role::Kind) {
        return Ok(of_any_kind(kinds, table, &roles));
    }
    let kind = match kind {
        Some(kind) => kind,
        None => best_kind(kinds, table, &roles, reading)?,
    };
    Ok(of_kind(kind, table, &roles).0)
}

/// Tells whether a day stands in a cell, perhaps with the time; of a time alone spreadsheets keep day 0.
fn tells_day(cell: &Cell) -> bool {
    match cell {
        Cell::Date(at) => at.year() > 1904,
        Cell::Text(text) => {
            let text = text.trim();
            text.parse::<Timestamp>().is_ok()
                || [DateOrder::Mdy, DateOrder::Dmy]
                    .iter()
                    .any(|order| dates::read(text, Some(*order), &Reading::default()).is_ok())
        }
        Cell::Wrong(..) => false,
    }
}

/// Returns what a column tells that is no measure.
fn role(header: &str) -> Option<Role> {
    let plain = plain(header);
    WORDS.iter().find(|(_, words)| words.contains(&plain.as_str())).map(|(role, _)| *role)
}

/// Maps the columns of a sheet whose rows are of one kind; returns how well that went, too.
fn of_kind(kind: &Kind, table: &Table, roles: &[Option<Role>]) -> (Mapping, Fit) {
    let mut mapping = Mapping::blank(&table.header, Some(kind.kind.clone()));
    let long = roles.contains(&Some(Role::MeasureName)) && roles.contains(&Some(Role::Value));
    let mut likely: Vec<(u8, usize, &Measure, Option<String>)> = Vec::new();
    for (place, header) in table.header.iter().enumerate().filter(|_| !long) {
        for measure in &kind.measures {
            // `row width unit` is the unit of a measure, `row unit` a measure.
            let least = if unit_of(header).is_some() { EXACT - 1 } else { 0 };
            if let Some((score, unit)) = likeness(header, kind, measure).filter(|(score, _)| *score >= least) {
                likely.push((score, place, measure, unit));
            }
        }
    }
    // The surest first; of equals the one that comes first, in the sheet and in the kind.
    likely.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut surest_of = vec![0; table.header.len()];
    likely.iter().for_each(|(score, place, ..)| surest_of[*place] = surest_of[*place].max(*score));
    let mut fit = Fit::default();
    let mut taken: Vec<&str> = Vec::new();
    let (mut telling, mut surest) = (Vec::new(), 0);
    for (score, place, measure, unit) in &likely {
        let free = mapping.columns[*place].is == Role::Nothing;
        // A word for something else is that, unless the measure has the very name.
        if !free || taken.contains(&measure.name.as_str()) || (roles[*place].is_some() && *score < EXACT) {
            continue;
        }
        // A second column for one measure tells that, and not some other that is a little like it.
        if *score < surest_of[*place] {
            continue;
        }
        taken.push(&measure.name);
        fit.score += usize::from(*score);
        if measure.result != ResultType::Day && (measure.required || !SAMPLE.contains(&measure.name.as_str())) {
            telling.push(*measure);
            surest = surest.max(*score);
        }
        mapping.columns[*place] = Column {
            measure: Some(measure.name.clone()),
            unit: unit.clone(),
            ..Column::of(&table.header[*place], Role::Measure)
        };
    }
    for (place, role) in roles.iter().enumerate() {
        let Some(role) = role else { continue };
        let of_long = matches!(role, Role::MeasureName | Role::Value | Role::Unit);
        if mapping.columns[place].is == Role::Nothing && mapping.column(*role).is_none() && (long || !of_long) {
            mapping.columns[place].is = *role;
        }
    }
    units_beside(&mut mapping, table);
    // A planting's day is the day of the sheet where there is no other.
    if let Some(day) = kind.measures.iter().find(|m| m.result == ResultType::Day && m.required)
        && !taken.contains(&day.name.as_str())
        && !long
        && let Some(place) = mapping.column(Role::Day)
    {
        mapping.columns[place] =
            Column { measure: Some(day.name.clone()), ..Column::of(&table.header[place], Role::Measure) };
        taken.push(&day.name);
        fit.score += usize::from(EXACT);
    }
    // A field may have a usual row width.
    let met = |name: &str| taken.contains(&name) || name == "row_width";
    let needed = kind.measures.iter().filter(|measure| measure.required).all(|measure| met(&measure.name));
    let needed = needed && (kind.needs.is_empty() || kind.needs.iter().any(|need| need.iter().all(|name| met(name))));
    // A text says whatever it says: where other columns are not understood, it is not known to be what the sheet is about.
    let idle = mapping
        .columns
        .iter()
        .zip(roles)
        .any(|(column, role)| column.is == Role::Nothing && role.is_none() && !column.header.trim().is_empty());
    let words_alone = idle && telling.iter().all(|measure| measure.result == ResultType::Text);
    fit.whole = needed && surest >= EXACT - 1 && !words_alone;
    fit.matched = telling.len();
    (mapping, fit)
}

/// Says what a sheet lacks for a kind, for people.
fn lacking(kind: &Kind, table: &Table, roles: &[Option<Role>], reading: &Reading) -> String {
    let (mapping, _) = of_kind(kind, table, roles);
    let there = |name: &str| mapping.columns.iter().any(|column| column.measure.as_deref() == Some(name));
    let quoted = |name: &String| format!("`{name}`");
    let mut lacks: Vec<String> =
        kind.measures.iter().filter(|m| m.required && !there(&m.name)).map(|m| quoted(&m.name)).collect();
    if !kind.needs.is_empty() && !kind.needs.iter().any(|need| need.iter().all(|name| there(name))) {
        let ways: Vec<String> = kind
            .needs
            .iter()
            .map(|need| {
                need.iter()
                    .filter(|name| !there(name))
                    .map(quoted)
                    .collect::<Vec<_>>()
                    .join(reading.word(Phrase::WordAnd))
            })
            .collect();
        lacks.push(ways.join(reading.word(Phrase::WordOr)));
    }
    match lacks.is_empty() {
        true => String::new(),
        false => reading.say(Phrase::ColumnsLack, &[("lacks", &lacks.join("; "))]),
    }
}

/// How well the columns of a sheet fit a kind.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Fit {
    /// Whether all is there that the kind needs.
    whole: bool,
    /// Whether the name of the file or of the sheet names the kind.
    named: bool,
    /// The sum of the likenesses.
    score: usize,
    /// How many columns tell a measure.
    matched: usize,
}

fn best_kind<'a>(kinds: &'a KindSet, table: &Table, roles: &[Option<Role>], reading: &Reading) -> Result<&'a Kind> {
    let ask = reading.word(Phrase::SayWhichKind);
    let names = [plain(table.name.rsplit_once('.').map_or(table.name.as_str(), |(stem, _)| stem)), plain(&table.sheet)];
    let mut fits: Vec<(Fit, &Kind)> = kinds
        .iter()
        .filter(|kind| kind.feature != "weather")
        .map(|kind| {
            let (_, mut fit) = of_kind(kind, table, roles);
            let words = std::iter::once(plain(&kind.kind)).chain(kind.label.values().map(|label| plain(label)));
            fit.named = words.into_iter().any(|word| names.iter().any(|name| name.contains(&word)));
            (fit, kind)
        })
        .filter(|(fit, _)| fit.matched > 0 || fit.named)
        .collect();
    fits.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.kind.cmp(&b.1.kind)));
    match fits.as_slice() {
        [] => Err(EngineError::user(
            reading.word(Phrase::NoKindOfColumns),
            reading.say(Phrase::HeaderLower, &[("say", &ask)]),
        )),
        [(best, kind), (next, other), ..]
            if (best.whole, best.named, best.score) == (next.whole, next.named, next.score) =>
        {
            let what = reading.say(Phrase::TwoKindsFit, &[("one", &kind.kind), ("other", &other.kind)]);
            Err(EngineError::user(what, ask))
        }
        [(best, kind), ..] if !best.whole && !best.named && !roles.contains(&Some(Role::MeasureName)) => {
            let lacks = lacking(kind, table, roles, reading);
            Err(EngineError::user(
                reading.say(Phrase::NoKindWhole, &[("kind", &kind.kind), ("lacks", &lacks)]),
                reading.say(Phrase::NameColumnsOf, &[("kind", &kind.kind)]),
            ))
        }
        [(_, kind), ..] => Ok(kind),
    }
}

/// Maps the columns of a sheet that has a column for the kind: a measure's column is one for every kind that has it.
fn of_any_kind(kinds: &KindSet, table: &Table, roles: &[Option<Role>]) -> Mapping {
    let mut mapping = Mapping::blank(&table.header, None);
    let long = roles.contains(&Some(Role::MeasureName)) && roles.contains(&Some(Role::Value));
    let mut taken: Vec<String> = Vec::new();
    for (place, header) in table.header.iter().enumerate() {
        let of_long = matches!(roles[place], Some(Role::MeasureName | Role::Value | Role::Unit));
        if let Some(role) = roles[place].filter(|_| long || !of_long) {
            if mapping.column(role).is_none() {
                mapping.columns[place].is = role;
            }
            continue;
        }
        let all = kinds.iter().flat_map(|kind| kind.measures.iter().map(move |measure| (kind, measure)));
        let all = all.filter_map(|(kind, measure)| Some((likeness(header, kind, measure)?, measure)));
        let all: Vec<_> = all.collect();
        let surest = all.iter().map(|((score, _), _)| *score).max();
        let best = all.into_iter().rfind(|((score, _), m)| Some(*score) == surest && !taken.contains(&m.name));
        if let (Some(((_, unit), measure)), false) = (best, long) {
            taken.push(measure.name.clone());
            let column = Column::of(header, Role::Measure);
            mapping.columns[place] = Column { measure: Some(measure.name.clone()), unit, ..column };
        }
    }
    units_beside(&mut mapping, table);
    mapping
}

/// Returns the columns of which nothing is recorded because another tells the same measure: as what each would be read, and
/// that other.
pub(super) fn doubles(kinds: &KindSet, mapping: &Mapping) -> Vec<(Column, String)> {
    let kind = mapping.kind.as_deref().and_then(|kind| kinds.get(kind));
    let kinds: Vec<&Kind> = kind.map_or_else(|| kinds.iter().collect(), |kind| vec![kind]);
    let idle = mapping.columns.iter().filter(|column| column.is == Role::Nothing && !column.header.is_empty());
    let of_column = |column: &Column| {
        let measures = kinds.iter().flat_map(|kind| kind.measures.iter().map(move |measure| (*kind, measure)));
        let alike = measures.filter_map(|(kind, measure)| Some((likeness(&column.header, kind, measure)?, measure)));
        let ((score, unit), measure) = alike.max_by_key(|((score, _), _)| *score)?;
        let told = |other: &&Column| other.is == Role::Measure && other.measure.as_deref() == Some(&measure.name);
        let other = mapping.columns.iter().find(told).filter(|_| score >= EXACT - 1)?;
        let read = Column { measure: Some(measure.name.clone()), unit, ..Column::of(&column.header, Role::Measure) };
        Some((read, other.header.clone()))
    };
    idle.filter_map(of_column).collect()
}

/// Takes a column `row width unit`, or one `unit` right behind the only measure before it, for the unit of that measure.
fn units_beside(mapping: &mut Mapping, table: &Table) {
    for place in 0..table.header.len() {
        if mapping.columns[place].is != Role::Nothing {
            continue;
        }
        let of = unit_of(&table.header[place]);
        let Some(of) = of else { continue };
        let measure = if of.is_empty() {
            place.checked_sub(1).map(|before| &mapping.columns[before]).filter(|column| column.is == Role::Measure)
        } else {
            mapping.columns.iter().find(|c| {
                c.is == Role::Measure
                    && (plain(&c.header) == of || c.measure.as_deref().map(plain).as_deref() == Some(&of))
            })
        };
        if let Some(name) = measure.and_then(|column| column.measure.clone()) {
            mapping.columns[place] = Column { measure: Some(name), ..Column::of(&table.header[place], Role::UnitOf) };
        }
    }
}

/// Returns of what a header tells the unit: `row width` of `row width unit`, nothing of `unit`.
fn unit_of(header: &str) -> Option<String> {
    let words = plain(header);
    ["units", "unit", "unidades", "unidad"].iter().find_map(|unit| {
        let rest = words.strip_suffix(unit).or_else(|| words.strip_prefix(unit))?.trim();
        Some(rest.strip_prefix("of ").or_else(|| rest.strip_prefix("de ")).unwrap_or(rest).to_owned())
    })
}

/// The likeness of a header that is a measure's very name.
const EXACT: u8 = 6;

/// Tells how much a header is like the words for a measure, and which unit it names.
fn likeness(header: &str, kind: &Kind, measure: &Measure) -> Option<(u8, Option<String>)> {
    let numeric = matches!(measure.result, ResultType::Quantity | ResultType::Count | ResultType::List);
    let mut best: Option<(u8, Option<String>)> = None;
    let own = measure.unit.as_deref().and_then(Unit::by_ucum);
    let aliases = ALIASES.iter().filter(|(of, name, _)| *name == measure.name && (of.is_empty() || *of == kind.kind));
    let aliases: Vec<&str> = aliases.flat_map(|(.., words)| words.iter().copied()).collect();
    for (words, unit) in readings(header, numeric) {
        let named = words_of(measure).iter().filter_map(|known| alike(&words, known)).max();
        let told = unit.as_deref().and_then(Unit::by_spelling);
        // The words of a yield in bushels are those of one in kilograms: there the unit tells.
        let tells_unit = !measure.name.ends_with("_mass") || told.is_some();
        let alias = aliases.iter().filter_map(|known| alike(&words, known)).max().filter(|score| *score >= EXACT - 1);
        let Some(score) = named.max(alias.filter(|_| tells_unit).map(|_| EXACT - 1)) else { continue };
        // Another measure may be in that unit.
        let other = told.zip(own).is_some_and(|(told, own)| told.dimension != own.dimension);
        let score = if other { score.min(EXACT - 2) } else { score };
        if best.as_ref().is_none_or(|(before, _)| score > *before) {
            best = Some((score, unit));
        }
    }
    // The archive's columns tell the unit in their name.
    if !measure.suffix.is_empty() && plain(header) == plain(&measure.column()) {
        let symbol = measure.unit.as_deref().and_then(Unit::by_ucum).map(|unit| unit.symbol.to_owned());
        return Some((EXACT, symbol));
    }
    best
}

fn words_of(measure: &Measure) -> Vec<String> {
    let labels = |labels: &Labels| labels.values().map(|label| plain(label)).collect::<Vec<_>>();
    let mut words = vec![plain(&measure.name), plain(&measure.flag())];
    words.extend(labels(&measure.label));
    words
}

/// Returns the ways to read a header: whole, and as words with a unit behind them.
fn readings(header: &str, numeric: bool) -> Vec<(String, Option<String>)> {
    let mut readings = vec![(plain(header), None)];
    if !numeric {
        return readings;
    }
    let trimmed = header.trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some((words, unit)) = trimmed.strip_suffix(close).and_then(|inner| inner.rsplit_once(open)) {
            readings.push((plain(words), Some(unit_word(unit))));
        }
    }
    for separator in [",", "/", "_", " in ", " "] {
        if let Some((words, unit)) = trimmed.rsplit_once(separator) {
            let unit = unit_word(unit);
            if Unit::by_spelling(&unit).is_some() && !words.trim().is_empty() {
                readings.push((plain(words), Some(unit)));
            }
        }
    }
    readings
}

/// Returns a unit as the table of units spells it, from Spanish too.
pub(super) fn unit_word(text: &str) -> String {
    let trimmed = text.trim().trim_end_matches('.');
    let plain = plain(trimmed);
    let spanish = SPANISH_UNITS.iter().find(|(word, _)| *word == plain).map(|(_, unit)| *unit);
    spanish.unwrap_or(trimmed).to_owned()
}

/// Tells how much alike two texts are: 6 the same, 5 the same but for number, 3 one in the other, 2 nearly.
fn alike(one: &str, other: &str) -> Option<u8> {
    if one.is_empty() || other.is_empty() {
        return None;
    }
    if one == other {
        return Some(EXACT);
    }
    let words = |text: &str| -> Vec<String> {
        let small = [
            "of", "the", "de", "del", "la", "el", "los", "las", "per", "por", "no", "number", "count", "counted",
            "numero",
        ];
        text.split(' ').filter(|word| !small.contains(word)).map(singular).collect()
    };
    let (ours, theirs) = (words(one), words(other));
    if ours.is_empty() || theirs.is_empty() {
        return None;
    }
    if ours == theirs {
        return Some(5);
    }
    let within = |few: &[String], many: &[String]| few.iter().all(|word| many.contains(word));
    if within(&ours, &theirs) || within(&theirs, &ours) {
        return Some(3);
    }
    (one.len() > 4 && strsim::jaro_winkler(one, other) > 0.93).then_some(2)
}

fn singular(word: &str) -> String {
    let short =
        if word.len() > 4 { word.strip_suffix("es").filter(|rest| rest.ends_with(['n', 'r', 'l', 's'])) } else { None };
    short.or_else(|| word.strip_suffix('s').filter(|rest| rest.len() > 2)).unwrap_or(word).to_owned()
}

/// Makes texts comparable: lower case, without accents, words parted by one blank.
pub(super) fn plain(text: &str) -> String {
    let folded: String = text
        .chars()
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            'á' | 'à' | 'â' | 'ä' => 'a',
            'é' | 'è' | 'ê' | 'ë' => 'e',
            'í' | 'ì' | 'î' | 'ï' => 'i',
            'ó' | 'ò' | 'ô' | 'ö' => 'o',
            'ú' | 'ù' | 'û' | 'ü' => 'u',
            'ñ' => 'n',
            c if c.is_alphanumeric() || c == '%' => c,
            _ => ' ',
        })
        .collect();
    folded.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns the kind that a cell names: by name or label in any language.
pub(super) fn kind_named<'a>(kinds: &'a KindSet, text: &str) -> Option<&'a Kind> {
    let wanted = plain(text);
    kinds.get(text.trim()).or_else(|| {
        kinds.iter().find(|kind| plain(&kind.kind) == wanted || kind.label.values().any(|label| plain(label) == wanted))
    })
}

/// Returns the measure that a cell of a long sheet names, and the unit where it names one: by name, flag, label or column.
pub(super) fn measure_named<'a>(kind: &'a Kind, text: &str) -> Option<(&'a Measure, Option<String>)> {
    let mut best: HashMap<u8, (&Measure, Option<String>)> = HashMap::new();
    for measure in &kind.measures {
        if let Some((score @ 5.., unit)) = likeness(text, kind, measure) {
            best.entry(score).or_insert((measure, unit));
        }
    }
    best.remove(&EXACT).or_else(|| best.remove(&5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::table::Row;

    fn sheet(name: &str, header: &str) -> Table {
        let header = header.split(';').map(str::to_owned).collect();
        Table { name: name.to_owned(), sheet: String::new(), header, rows: Vec::new(), hidden: 0 }
    }

    fn guessed(name: &str, header: &str, kind: Option<&str>) -> std::result::Result<String, String> {
        let kinds = KindSet::builtin();
        let kind = kind.map(|kind| kinds.get(kind).expect("a kind that comes with the program"));
        let mapping = guess(&kinds, &sheet(name, header), kind, &Reading::default()).map_err(|error| error.message)?;
        let columns: Vec<String> = mapping.columns.iter().map(Column::meaning).collect();
        Ok(format!("{}: {}", mapping.kind.as_deref().unwrap_or("-"), columns.join("; ")))
    }

    #[test]
    fn a_column_called_time_may_hold_the_day() {
        let kinds = KindSet::builtin();
        let kind = kinds.get("stand-count").expect("a kind");
        let of = |header: &str, cell: Cell| {
            let mut table = sheet("counts.csv", header);
            let mut cells = vec![Cell::Text(String::new()); table.header.len()];
            cells[1] = cell;
            table.rows = vec![Row { line: 2, cells, fault: None }];
            guess(&kinds, &table, Some(kind), &Reading::default()).expect("a guess")
        };
        let text = |text: &str| Cell::Text(text.to_owned());
        let header = "field;time;row (in);length (ft);plants";
        for cell in [
            text("2026-05-28 07:40"),
            text("2026-05-28T07:40:00Z"),
            text("5/28/2026 7:40 AM"),
            text("28/5/2026"),
            Cell::Date(jiff::civil::date(2026, 5, 28).at(7, 40, 0, 0)),
        ] {
            assert_eq!(of(header, cell.clone()).column(Role::Day), Some(1), "{cell:?}");
        }
        for cell in [text("07:40"), text("7:40 AM"), Cell::Date(jiff::civil::date(1899, 12, 30).at(7, 40, 0, 0))] {
            assert_eq!(of(header, cell.clone()).column(Role::Time), Some(1), "{cell:?}");
        }
        let told_apart = of("field;time;date;length (ft);plants", text("2026-05-28 07:40"));
        assert_eq!((told_apart.column(Role::Time), told_apart.column(Role::Day)), (Some(1), Some(2)));
        // Where no day is told the hint names no column that tells something else.
        let untold = of(header, text("07:40")).check(&kinds, &[], &Reading::default()).expect_err("no day");
        assert!(untold.hint.expect("a hint").contains("`--column \"time=day\"`"));
        let untold = of("field;when_seen;row (in);length (ft);plants", text("07:40"));
        let untold = untold.check(&kinds, &[], &Reading::default()).expect_err("no day");
        assert!(untold.hint.expect("a hint").contains("`--column \"when_seen=day\"`"));
    }

    #[test]
    fn english_and_spanish_headers_are_guessed_with_their_units() {
        assert_eq!(
            guessed("may.csv", "Field;Date;Time;Scout;Row width (in);Length (ft);Plants;Remarks", None).as_deref(),
            Ok("stand-count: field; day; time; by; row_width in in; length in ft; plants; nothing")
        );
        assert_eq!(
            guessed(
                "mayo.csv",
                "Lote;Fecha;Ancho de surco (pulgadas);Largo de surco [m];Plantas;Latitud;Longitud",
                None
            )
            .as_deref(),
            Ok("stand-count: field; day; row_width in in; length in m; plants; latitude; longitude")
        );
        assert_eq!(
            guessed("x.csv", "field;at;row_width_in;length_ft;plants", None).as_deref(),
            Ok("stand-count: field; day; row_width in in; length in ft; plants")
        );
        assert_eq!(
            guessed("x.csv", "field;date;row width;row width unit;length;unit;plants", None).as_deref(),
            Ok("stand-count: field; day; row_width; unit-of row_width; length; unit-of length; plants")
        );
    }

    #[test]
    fn obvious_names_are_known_and_a_day_alone_is_nothing() {
        for (header, tells) in [
            ("Field;Date;Note", "note: field; day; text"),
            ("Field;Date;Notes", "note: field; day; text"),
            ("Lote;Fecha;Texto", "note: field; day; text"),
            ("Field;Date;Collars", "leaf-stage: field; day; collars"),
            ("Field;Date;Stage", "leaf-stage: field; day; stage"),
            ("Field;Date;Height (in)", "plant-height: field; day; height in in"),
            ("Field;Date;Thousandths;Stand count", "stand-count: field; day; thousandths; plants"),
            (
                "Lote;Fecha;Distancia entre surcos (cm);Longitud (m);Número de plantas",
                "stand-count: field; day; row_width in cm; length in m; plants",
            ),
            (
                "Lote;Fecha;Latitud;Longitud;Ancho de surco;Largo de surco;Plantas",
                "stand-count: field; day; latitude; longitude; row_width; length; plants",
            ),
            ("Field;Date;Yield (bu/ac);Moisture (%)", "harvest: field; day; yield in bu/ac; moisture in %"),
            ("Lote;Fecha;Rendimiento (t/ha)", "harvest: field; day; yield_mass in t/ha"),
            // A second column for a measure is not taken for another one.
            (
                "Field;Date;Row width (in);Row width (cm);Length (ft);Plants",
                "stand-count: field; day; row_width in in; nothing; length in ft; plants",
            ),
            (
                "Field;Kind;Date;Row width (in);Row width (cm);Length (ft);Plants",
                "-: field; kind; day; row_width in in; nothing; length in ft; plants",
            ),
        ] {
            assert_eq!(guessed("x.csv", header, None).as_deref(), Ok(tells), "{header}");
        }
        for (header, why) in [
            ("Field;Date;Stand count", "`stand-count`, for which no column tells `row_width` and `length`, or"),
            ("Field;Date;Plants", "fit no kind whole"),
            ("Field;Date;Wd;Len;Cnt", "tell no kind"),
            ("Field;Date", "tell no kind"),
            ("Field;Date;Wd;Note", "fit no kind whole"),
        ] {
            let error = guessed("x.csv", header, None).expect_err(header);
            assert!(error.contains(why), "{header}: {error}");
        }
    }

    #[test]
    fn the_day_of_a_planting_is_its_own() {
        let guess = guessed("planting.csv", "Field;Date;Crop;Rate (/ac);Depth (in)", None).expect("a planting");
        assert!(guess.starts_with("planting: field; day; crop;"), "{guess}");
        let kinds = KindSet::builtin();
        let mapping = super::guess(&kinds, &sheet("planting.csv", "Field;Date;Crop"), None, &Reading::default())
            .expect("a planting");
        assert_eq!(mapping.columns[1].is, Role::Measure);
    }

    #[test]
    fn long_sheets_are_told_from_wide_ones() {
        assert_eq!(
            guessed("x.csv", "field;kind;date;sample;measure;value;unit", None).as_deref(),
            Ok("-: field; kind; day; sample; measure-name; value; unit")
        );
        assert_eq!(
            guessed("x.csv", "field;date;measure;value", Some("stand-count")).as_deref(),
            Ok("stand-count: field; day; measure-name; value")
        );
    }

    #[test]
    fn what_cannot_be_told_is_asked() {
        assert!(guessed("x.csv", "a;b;c", None).is_err());
        let error = guessed("x.csv", "field;date;plants", None).expect_err("several kinds count plants");
        assert!(error.contains("kind") || error.contains("fit"), "{error}");
        assert!(guessed("x.csv", "field;date;plants", Some("stand-count")).is_ok());
    }

    #[test]
    fn a_unit_that_is_none_is_not_lost() {
        let kinds = KindSet::builtin();
        let kind = kinds.get("stand-count");
        let mapping = guess(
            &kinds,
            &sheet("x.csv", "field;date;row width (furlongs);length (ft);plants"),
            kind,
            &Reading::default(),
        )
        .expect("a guess");
        let error = mapping.check(&kinds, &[], &Reading::default()).expect_err("no such unit");
        assert!(error.message.contains("`furlongs` is no unit"), "{error}");
        let mapping =
            guess(&kinds, &sheet("x.csv", "field;date;row width (F);length (ft);plants"), kind, &Reading::default())
                .expect("a guess");
        assert!(
            mapping
                .check(&kinds, &[], &Reading::default())
                .expect_err("a temperature")
                .message
                .contains("a temperature")
        );
    }

    #[test]
    fn every_label_of_every_kind_finds_its_own_measure() {
        let kinds = KindSet::builtin();
        for kind in kinds.iter() {
            for measure in &kind.measures {
                let all = [measure.name.clone(), measure.flag(), measure.column()];
                for word in all.iter().chain(measure.label.values()) {
                    let found = measure_named(kind, word).map(|(found, _)| found.name.as_str());
                    assert_eq!(found, Some(measure.name.as_str()), "`{word}` of `{}`", kind.kind);
                }
            }
        }
    }
}
