//! The kinds that a device knows, and checking values against them.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use jiff::civil::Date;
use ligule_units::Unit;

use crate::{
    codelist::CodeList,
    codename::{self, Meaning, Named},
    document::is_measure,
    kind::{Kind, Measure, Relation, ResultType},
    record::{Measured, Record, Value},
};

macro_rules! embedded {
    ($folder:literal: $($name:literal),* $(,)?) => {
        [$((concat!($folder, "/", $name, ".toml"),
            include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../schemas/", $folder, "/", $name, ".toml")))),*]
    };
}

/// The kinds that come with the program: file name below `schemas/` and text.
pub const KIND_FILES: [(&str, &str); 21] = embedded!("kinds":
    "planting", "stand-count", "plant-spacing", "leaf-stage", "plant-height", "seed-depth", "root-check", "soil-check",
    "plant-health", "pest-count", "weed-count", "disease", "nutrient-test", "hail-damage", "frost-damage",
    "application", "yield-estimate", "harvest", "weather-day", "photo", "note",
);

/// The code lists that come with the program: file name below `schemas/` and text.
pub const CODELIST_FILES: [(&str, &str); 6] = embedded!("codelists":
    "active-ingredients", "diseases", "herbicide-tolerance", "organisms", "regions", "weeds",
);

/// A declaration that cannot be used.
#[derive(Debug, thiserror::Error)]
#[error("{}:{line}: {why}", file.display())]
pub struct BadDeclaration {
    /// The file.
    pub file: PathBuf,
    /// The line, from 1.
    pub line: usize,
    /// What was expected and what came.
    pub why: String,
}

/// Values that do not fit their kind.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Invalid {
    /// There is no such kind.
    #[error("expected a kind of observation, got `{got}`; {hint}")]
    UnknownKind {
        /// What came.
        got: String,
        /// The nearest kind, or all.
        hint: String,
    },
    /// The kind has no such measure.
    #[error("`{kind}` has no measure `{got}`; {hint}")]
    UnknownMeasure {
        /// The kind.
        kind: String,
        /// What came.
        got: String,
        /// The nearest measure, or all.
        hint: String,
    },
    /// A required measure is missing.
    #[error("`{kind}` needs `--{flag}` ({label}), which is missing")]
    Missing {
        /// The kind.
        kind: String,
        /// The measure's flag.
        flag: String,
        /// What people call it.
        label: String,
    },
    /// None of the alternatives is complete.
    #[error("`{kind}` needs {alternatives}")]
    Alternatives {
        /// The kind.
        kind: String,
        /// The alternatives: `--row and --length, or --hoop`.
        alternatives: String,
    },
    /// Nothing was entered.
    #[error("`{kind}` needs at least one value; it has {measures}")]
    Empty {
        /// The kind.
        kind: String,
        /// The measures it has.
        measures: String,
    },
    /// A number outside the range.
    #[error("`--{flag}` of `{kind}` must lie between {range}, got {got}")]
    OutOfRange {
        /// The kind.
        kind: String,
        /// The measure's flag.
        flag: String,
        /// The least and the greatest value and the unit's symbol: `4 and 80 in`.
        range: String,
        /// What came.
        got: String,
    },
    /// A count below zero.
    #[error("`--{flag}` of `{kind}` counts things and cannot be below zero, got {got}")]
    Negative {
        /// The kind.
        kind: String,
        /// The measure's flag.
        flag: String,
        /// What came.
        got: String,
    },
    /// A number greater than another that it cannot exceed.
    #[error("`--{least}` of `{kind}` must not exceed `--{most}`, got {got} with {limit}")]
    Exceeds {
        /// The kind.
        kind: String,
        /// The flag of the measure that must be the smaller one.
        least: String,
        /// The flag of the measure that must be the greater one.
        most: String,
        /// What came for the first.
        got: String,
        /// What came for the second, with the unit's symbol.
        limit: String,
    },
    /// Two measures of which an observation has one at most.
    #[error("`{kind}` takes either `--{one}` or `--{other}`, not both; record each in an observation of its own")]
    Excluded {
        /// The kind.
        kind: String,
        /// The flag of the one.
        one: String,
        /// The flag of the other.
        other: String,
    },
    /// A measure that another one, as it was chosen, does not go with.
    #[error(
        "`--{flag}` of `{kind}` goes with `--{chosen}` {}, {}",
        one_of(codes, "or"),
        got.as_ref().map_or_else(|| format!("which is missing; give `--{chosen}`"), |got| format!("got `--{chosen} {got}`; record each in an observation of its own"))
    )]
    Misplaced {
        /// The kind.
        kind: String,
        /// The flag of the measure that does not belong there.
        flag: String,
        /// The flag of the measure that decides.
        chosen: String,
        /// The codes with which it belongs there.
        codes: Box<[String]>,
        /// The code that came, if any.
        got: Option<Box<str>>,
    },
    /// Lists that belong together item by item and are not of one length.
    #[error("`--{one}` and `--{other}` of `{kind}` go together number by number, got {got} and {others}")]
    Unpaired {
        /// The kind.
        kind: String,
        /// The flag of the one.
        one: String,
        /// The flag of the other.
        other: String,
        /// How many numbers the one has.
        got: usize,
        /// How many numbers the other has.
        others: usize,
    },
    /// A list that goes down where it must not.
    #[error("`--{flag}` of `{kind}` must not go down, got {after} after {before}, in place {place}")]
    Descends {
        /// The kind.
        kind: String,
        /// The measure's flag.
        flag: String,
        /// The number that is too small.
        after: String,
        /// The number before it.
        before: String,
        /// Its place in the list, from 1.
        place: usize,
    },
    /// Not one of the codes.
    #[error("`--{flag}` of `{kind}`: expected a code, got `{got}`; {hint}")]
    UnknownCode {
        /// The kind.
        kind: String,
        /// The measure's flag.
        flag: String,
        /// What came.
        got: String,
        /// The nearest code, or all.
        hint: String,
    },
    /// A text where a number belongs, or the other way round, or a text of another form.
    #[error("`--{flag}` of `{kind}`: expected {expected}, got `{got}`")]
    Form {
        /// The kind.
        kind: String,
        /// The measure's flag.
        flag: String,
        /// What was expected.
        expected: String,
        /// What came.
        got: String,
    },
}

impl Invalid {
    /// Returns the flags of the measures that do not go together, of values that each hold; none of other faults.
    pub fn apart(&self) -> Vec<&str> {
        match self {
            Self::Exceeds { least, most, .. } => vec![least, most],
            Self::Excluded { one, other, .. } | Self::Unpaired { one, other, .. } => vec![one, other],
            Self::Misplaced { flag, chosen, .. } => vec![flag, chosen],
            _ => Vec::new(),
        }
    }
}

impl Kind {
    /// Checks what the values of one observation must be to each other: new, or as they stand after a correction.
    ///
    /// Each value by itself is checked by [`KindSet::check_value`]. *Errors:* the first relation that does not hold.
    pub fn check_together(&self, values: &BTreeMap<String, Measured>) -> Result<(), Invalid> {
        self.relations.iter().try_for_each(|relation| match relation {
            Relation::AtMost { least, most } => not_above(self, least, most, values),
            Relation::Excludes { measure, excludes } => {
                let other = excludes.iter().find(|other| values.contains_key(*other));
                match other.filter(|_| values.contains_key(measure)) {
                    Some(other) => Err(Invalid::Excluded {
                        kind: self.kind.clone(),
                        one: flag_of(self, measure),
                        other: flag_of(self, other),
                    }),
                    None => Ok(()),
                }
            }
            Relation::Paired { paired } => same_length(self, paired, values),
            Relation::Alike { alike } => {
                let there: Vec<String> = alike.iter().filter(|name| values.contains_key(*name)).cloned().collect();
                same_length(self, &there, values)
            }
            Relation::OnlyWhere { only, chosen, is } => {
                let got = match values.get(chosen).map(|measured| &measured.value) {
                    Some(Value::Text(code)) => Some(code),
                    Some(Value::Int(_)) | None => None,
                };
                match only.iter().find(|name| values.contains_key(*name)) {
                    Some(name) if !got.is_some_and(|code| is.contains(code)) => Err(Invalid::Misplaced {
                        kind: self.kind.clone(),
                        flag: flag_of(self, name),
                        chosen: flag_of(self, chosen),
                        codes: is.as_slice().into(),
                        got: got.map(|code| code.as_str().into()),
                    }),
                    _ => Ok(()),
                }
            }
        })
    }

    /// Returns the measures of a record that wait for a person to decide: those whose concurrent values differ; where there
    /// are none, those that each hold and do not go together, as corrections of two devices can leave them.
    ///
    /// Of a void record, which is in no answer, only the former.
    pub fn waiting(&self, record: &Record) -> Vec<String> {
        match self.apart(record) {
            Some(invalid) => {
                let named = |flag: &str| Some(self.measures.iter().find(|m| m.flag() == flag)?.name.clone());
                invalid.apart().into_iter().filter_map(named).collect()
            }
            None => record.conflicts.clone(),
        }
    }

    /// Returns why the values of a record do not go together, where each of them holds and nothing else waits.
    pub fn apart(&self, record: &Record) -> Option<Invalid> {
        let settled = record.void.is_none() && record.conflicts.is_empty();
        if settled { self.check_together(&record.values).err() } else { None }
    }
}

/// The kinds and code lists that a device knows.
#[derive(Debug, Clone, Default)]
pub struct KindSet {
    kinds: BTreeMap<String, Kind>,
    lists: BTreeMap<String, CodeList>,
}

impl KindSet {
    /// Returns the kinds that come with the program.
    pub fn builtin() -> Self {
        let mut set = Self::default();
        for (file, text) in CODELIST_FILES {
            set.add_list(Path::new(file), text).expect("the lists that come with the program are checked by its tests");
        }
        for (file, text) in KIND_FILES {
            set.add(Path::new(file), text).expect("the kinds that come with the program are checked by its tests");
        }
        set
    }

    /// Returns the kinds that come with the program and those that the `.toml` files of a folder declare.
    ///
    /// Files below `codelists/` in it are code lists. *Errors:* the file and the line of the first that cannot be used.
    pub fn with_folder(folder: &Path) -> Result<Self, BadDeclaration> {
        let mut set = Self::builtin();
        for (file, text) in toml_files(&folder.join("codelists"))? {
            set.add_list(&file, &text)?;
        }
        for (file, text) in toml_files(folder)? {
            set.add(&file, &text)?;
        }
        Ok(set)
    }

    /// Adds a code list, given its file's name and text.
    pub fn add_list(&mut self, file: &Path, text: &str) -> Result<(), BadDeclaration> {
        let list: CodeList = parse(file, text)?;
        let bad = |word: &str, why: String| BadDeclaration { file: file.into(), line: line_of(text, word), why };
        if list.date.parse::<Date>().is_err() {
            return Err(bad("date", format!("expected a day as YYYY-MM-DD, got `{}`", list.date)));
        }
        for (i, code) in list.codes.iter().enumerate() {
            if !code.label.contains_key("en") {
                return Err(bad(&code.code, format!("code `{}` has no English label", code.code)));
            }
            if list.codes[..i].iter().any(|c| c.code == code.code) {
                return Err(bad(&code.code, format!("code `{}` is listed twice", code.code)));
            }
        }
        self.lists.insert(list.list.clone(), list);
        Ok(())
    }

    /// Adds a kind, given its file's name and text. A later version takes the place of an earlier one.
    pub fn add(&mut self, file: &Path, text: &str) -> Result<(), BadDeclaration> {
        let kind: Kind = parse(file, text)?;
        if let Some((word, why)) = self.fault(&kind) {
            return Err(BadDeclaration { file: file.into(), line: line_of(text, &word), why });
        }
        if let Some(known) = self.kinds.get(&kind.kind) {
            if known.version > kind.version {
                return Ok(());
            }
            if let Some((word, why)) = broken_promise(known, &kind) {
                return Err(BadDeclaration { file: file.into(), line: line_of(text, &word), why });
            }
        }
        self.kinds.insert(kind.kind.clone(), kind);
        Ok(())
    }

    /// Returns what is wrong with a kind: a word to find the line by, and the reason.
    fn fault(&self, kind: &Kind) -> Option<(String, String)> {
        let kebab = |s: &str| {
            !s.is_empty() && s.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '.'))
        };
        if !kebab(&kind.kind) {
            return Some((kind.kind.clone(), format!("expected a name in kebab case, got `{}`", kind.kind)));
        }
        for (what, labels) in [("label", &kind.label), ("about", &kind.about), ("protocol", &kind.protocol)] {
            if !labels.contains_key("en") {
                return Some((what.into(), format!("`{what}` has no English text (`en`)")));
            }
        }
        if kind.measures.is_empty() {
            return Some((kind.kind.clone(), "a kind needs at least one [[measure]]".into()));
        }
        if !matches!(kind.stages.len(), 0 | 2) || kind.stages.iter().any(|s| !is_stage(s)) {
            return Some((
                "stages".into(),
                "expected a first and a last growth stage, such as [\"VE\", \"V6\"]".into(),
            ));
        }
        if let Some(unknown) = kind.needs.iter().flatten().find(|need| !kind.measures.iter().any(|m| m.name == **need))
        {
            return Some(("needs".into(), format!("`needs` names `{unknown}`, which is no measure of the kind")));
        }
        if let Some(why) = kind.relations.iter().find_map(|relation| self.relation_fault(kind, relation)) {
            return Some(("[[relation]]".into(), why));
        }
        for (i, measure) in kind.measures.iter().enumerate() {
            let name = format!("\"{}\"", measure.name);
            if !is_measure(&measure.name) || measure.name.to_lowercase() != measure.name {
                return Some((name, format!("expected a measure's name in snake case, got `{}`", measure.name)));
            }
            if kind.measures[..i].iter().any(|m| m.name == measure.name || m.flag() == measure.flag()) {
                return Some((name, format!("measure or flag `{}` is declared twice", measure.name)));
            }
            if let Some(why) = self.measure_fault(measure) {
                return Some((name, format!("measure `{}`: {why}", measure.name)));
            }
        }
        None
    }

    /// Returns what is wrong with a relation between measures.
    fn relation_fault(&self, kind: &Kind, relation: &Relation) -> Option<String> {
        let named = relation.measures();
        let measure = |name: &str| kind.measures.iter().find(|m| m.name == name);
        if let Some(unknown) = named.iter().find(|name| measure(name).is_none()) {
            let hint = nearest_of(unknown, kind.measures.iter().map(|m| m.name.as_str()));
            return Some(format!("a relation names `{unknown}`, which is no measure of the kind; {hint}"));
        }
        if (1..named.len()).any(|i| named[..i].contains(&named[i])) {
            return Some(format!("a relation names a measure twice: `{}`", named.join("`, `")));
        }
        match relation {
            Relation::AtMost { least, most } => {
                let (least, most) = (measure(least)?, measure(most)?);
                let number = |m: &Measure| matches!(m.result, ResultType::Quantity | ResultType::Count);
                (!number(least) || !number(most) || least.unit != most.unit).then(|| {
                    format!(
                        "`least` and `most` compare numbers in one unit; `{}` and `{}` are not",
                        least.name, most.name
                    )
                })
            }
            Relation::Excludes { measure, excludes } => {
                excludes.is_empty().then(|| format!("`{measure}` excludes nothing; name at least one measure"))
            }
            Relation::Paired { paired } | Relation::Alike { alike: paired } => {
                let word = if matches!(relation, Relation::Alike { .. }) { "alike" } else { "paired" };
                let lists = paired.iter().all(|name| measure(name).is_some_and(|m| m.result == ResultType::List));
                (paired.len() < 2 || !lists)
                    .then(|| format!("`{word}` names two or more lists; `{}` are not", paired.join("`, `")))
            }
            Relation::OnlyWhere { only, chosen, is } => {
                let chosen = measure(chosen)?;
                if only.is_empty() || is.is_empty() {
                    return Some("`only` and `is` name at least one measure and one code".into());
                }
                if chosen.result != ResultType::Choice {
                    return Some(format!(
                        "`where` names a measure that is chosen from codes; `{}` is not",
                        chosen.name
                    ));
                }
                if let Some(required) = only.iter().find(|name| measure(name).is_some_and(|m| m.required)) {
                    return Some(format!("`{required}` is required and cannot be left out; take it from `only`"));
                }
                let codes = self.codes(chosen);
                let unknown = is.iter().find(|code| codes.iter().all(|(known, _)| known != code))?;
                let hint = nearest_of(unknown, codes.iter().map(|(code, _)| *code));
                Some(format!("`is` names `{unknown}`, which is no code of `{}`; {hint}", chosen.name))
            }
        }
    }

    fn measure_fault(&self, measure: &Measure) -> Option<String> {
        let numeric = matches!(measure.result, ResultType::Quantity | ResultType::Count | ResultType::List);
        if !measure.label.contains_key("en") {
            return Some("its label has no English text (`en`)".into());
        }
        if numeric != measure.unit.is_some() {
            return Some("numbers need `unit` (a UCUM code; `1` for counts), and nothing else has one".into());
        }
        if !numeric && (measure.range.is_some() || measure.scale != 0) {
            return Some("only numbers have `range` and `scale`".into());
        }
        if measure.scale > 9 {
            return Some(format!("`scale` must lie between 0 and 9, got {}", measure.scale));
        }
        if measure.range.is_some_and(|[a, b]| !a.is_finite() || !b.is_finite() || a > b) {
            return Some("`range` must be the least and the greatest value".into());
        }
        if measure.result == ResultType::Count && (measure.scale != 0 || measure.unit.as_deref() != Some("1")) {
            return Some("a count has unit `1` and scale 0; use `quantity` for halves".into());
        }
        if measure.ascending && measure.result != ResultType::List {
            return Some("only a list is `ascending`".into());
        }
        match (measure.result, &measure.codelist) {
            (ResultType::Choice, None) if measure.choices.is_empty() => {
                Some("a choice needs `choices` or `codelist`".into())
            }
            (ResultType::Choice, Some(list)) if !self.lists.contains_key(list) => Some(format!(
                "expected a code list, got `{list}`; {}",
                nearest_of(list, self.lists.keys().map(String::as_str))
            )),
            (ResultType::Choice, _) => None,
            (_, Some(_)) => Some("only a choice has a `codelist`".into()),
            _ if !measure.choices.is_empty() => Some("only a choice has `choices`".into()),
            _ => None,
        }
    }

    /// Returns the kind of that name.
    pub fn get(&self, name: &str) -> Option<&Kind> {
        self.kinds.get(name)
    }

    /// Returns every kind, by name.
    pub fn iter(&self) -> impl Iterator<Item = &Kind> {
        self.kinds.values()
    }

    /// Returns the name nearest to `name` by spelling, if one is near.
    pub fn nearest(&self, name: &str) -> Option<&str> {
        nearest(name, self.kinds.keys().map(String::as_str))
    }

    /// Returns the code list of that name.
    pub fn codelist(&self, name: &str) -> Option<&CodeList> {
        self.lists.get(name)
    }

    /// Returns every code list, by name.
    pub fn codelists(&self) -> impl Iterator<Item = &CodeList> {
        self.lists.values()
    }

    /// Returns the codes of a choice, each with its English label.
    pub fn codes<'a>(&'a self, measure: &'a Measure) -> Vec<(&'a str, &'a str)> {
        let english = |labels: &'a BTreeMap<String, String>| labels.get("en").map_or("", String::as_str);
        match measure.codelist.as_ref().and_then(|list| self.lists.get(list)) {
            Some(list) => list.codes.iter().map(|c| (c.code.as_str(), english(&c.label))).collect(),
            None => measure.choices.iter().map(|c| (c.code.as_str(), english(&c.label))).collect(),
        }
    }

    /// Returns the code that a text means for a choice, where it means one; see [`Self::meaning`].
    pub fn code(&self, measure: &Measure, text: &str) -> Option<String> {
        match self.meaning(measure, text) {
            Meaning::One(code) => Some(code.to_owned()),
            Meaning::Several(_) | Meaning::None => None,
        }
    }

    /// Returns what a text means for a choice: the code in any case, a label or what it has before a colon, another word for
    /// it, with or without accents, one or many of it.
    pub fn meaning<'a>(&'a self, measure: &'a Measure, text: &str) -> Meaning<'a> {
        codename::meaning(&self.named(measure), text)
    }

    /// Returns the codes of a choice in the order of how near their names are to a text, each with how near.
    pub fn nearest_codes<'a>(&'a self, measure: &'a Measure, text: &str) -> Vec<(&'a str, f64)> {
        codename::nearest(&self.named(measure), text)
    }

    fn named<'a>(&'a self, measure: &'a Measure) -> Vec<Named<'a>> {
        match measure.codelist.as_ref().and_then(|list| self.lists.get(list)) {
            Some(list) => list.codes.iter().map(Named::from).collect(),
            None => measure.choices.iter().map(Named::from).collect(),
        }
    }

    /// Returns the measures of a record that this device does not know; all of them where it does not know the kind.
    pub fn unknown<'a>(&self, record: &'a Record) -> Vec<&'a str> {
        let kind = self.get(&record.kind);
        record.values.keys().map(String::as_str).filter(|m| kind.is_none_or(|k| k.measure(m).is_none())).collect()
    }

    /// Checks the values of a new observation against its kind.
    ///
    /// *Errors:* the first value that does not fit, with what was expected and the nearest valid thing.
    pub fn check(&self, kind: &str, values: &BTreeMap<String, Measured>) -> Result<(), Invalid> {
        let known = self.kind_or_hint(kind)?;
        for (name, measured) in values {
            self.check_value(kind, name, &measured.value)?;
        }
        if values.is_empty() {
            let measures = known.measures.iter().map(|m| format!("`--{}`", m.flag())).collect::<Vec<_>>().join(", ");
            return Err(Invalid::Empty { kind: kind.into(), measures });
        }
        if let Some(m) = known.measures.iter().find(|m| m.required && !values.contains_key(&m.name)) {
            return Err(Invalid::Missing {
                kind: kind.into(),
                flag: m.flag(),
                label: m.label.get("en").cloned().unwrap_or_default(),
            });
        }
        if !known.needs.is_empty() && !known.needs.iter().any(|all| all.iter().all(|m| values.contains_key(m))) {
            let flags = |all: &Vec<String>| {
                all.iter().map(|m| format!("`--{}`", flag_of(known, m))).collect::<Vec<_>>().join(" and ")
            };
            let alternatives = known.needs.iter().map(flags).collect::<Vec<_>>().join(", or ");
            return Err(Invalid::Alternatives { kind: kind.into(), alternatives });
        }
        self.check_together(kind, values)
    }

    /// Checks what the values of one observation must be to each other, as [`Kind::check_together`].
    pub fn check_together(&self, kind: &str, values: &BTreeMap<String, Measured>) -> Result<(), Invalid> {
        self.kind_or_hint(kind)?.check_together(values)
    }

    /// Checks one value against its measure, as a correction does.
    pub fn check_value(&self, kind: &str, measure: &str, value: &Value) -> Result<(), Invalid> {
        let known = self.kind_or_hint(kind)?;
        let Some(measure) = known.measures.iter().find(|m| m.name == measure) else {
            let flags: Vec<_> = known.measures.iter().map(|m| format!("--{}", m.flag())).collect();
            let hint = nearest_of(&format!("--{measure}"), flags.iter().map(String::as_str));
            return Err(Invalid::UnknownMeasure { kind: kind.into(), got: measure.into(), hint });
        };
        let form = |expected: &str, got: &str| {
            Err(Invalid::Form { kind: kind.into(), flag: measure.flag(), expected: expected.into(), got: got.into() })
        };
        match (measure.result, value) {
            (ResultType::Quantity | ResultType::Count, Value::Int(n)) => in_range(kind, measure, *n),
            (ResultType::Quantity | ResultType::Count, Value::Text(t)) => form("a number", t),
            (_, Value::Int(n)) => form("a text", &n.to_string()),
            (ResultType::Choice, Value::Text(t)) => {
                let codes = self.codes(measure);
                if codes.iter().any(|(code, _)| code == t) {
                    return Ok(());
                }
                let hint = nearest_of(t, codes.iter().map(|(code, _)| *code));
                Err(Invalid::UnknownCode { kind: kind.into(), flag: measure.flag(), got: t.clone(), hint })
            }
            (ResultType::Stage, Value::Text(t)) if !is_stage(t) => {
                form("a growth stage such as `VE`, `V4`, `VT` or `R1`", t)
            }
            (ResultType::Day, Value::Text(t)) if t.len() != 10 || t.parse::<Date>().is_err() => {
                form("a day as YYYY-MM-DD", t)
            }
            (ResultType::List, Value::Text(t)) => {
                if t.split_whitespace().next().is_none() {
                    return form("numbers separated by blanks", t);
                }
                let mut before: Option<i64> = None;
                for (i, item) in t.split_whitespace().enumerate() {
                    match scaled(item, measure.scale) {
                        Some(n) => {
                            in_range(kind, measure, n)?;
                            if let Some(before) = before.filter(|before| measure.ascending && n < *before) {
                                return Err(Invalid::Descends {
                                    kind: kind.into(),
                                    flag: measure.flag(),
                                    after: in_unit(n, measure).to_string(),
                                    before: with_unit(in_unit(before, measure).to_string(), measure),
                                    place: i + 1,
                                });
                            }
                            before = Some(n);
                        }
                        None => {
                            let numbers = match measure.scale {
                                0 => "whole numbers".to_owned(),
                                1 => "numbers with at most one decimal".to_owned(),
                                scale => format!("numbers with at most {scale} decimals"),
                            };
                            return form(&format!("{numbers}, separated by blanks"), item);
                        }
                    }
                }
                Ok(())
            }
            (ResultType::Text, Value::Text(t)) if measure.required && t.trim().is_empty() => {
                form("a text that is not empty", t)
            }
            (ResultType::Text, Value::Text(t)) if t.len() > MAX_TEXT => {
                form("a text of at most 16 KiB", &format!("{} bytes", t.len()))
            }
            _ => Ok(()),
        }
    }

    fn kind_or_hint(&self, kind: &str) -> Result<&Kind, Invalid> {
        self.get(kind).ok_or_else(|| Invalid::UnknownKind {
            got: kind.into(),
            hint: nearest_of(kind, self.kinds.keys().map(String::as_str)),
        })
    }
}

/// The longest free text that is kept, in bytes.
const MAX_TEXT: usize = 16 << 10;

impl Kind {
    /// Checks the values of a new observation of this kind, given the set that holds its code lists.
    pub fn check(&self, values: &BTreeMap<String, Measured>, set: &KindSet) -> Result<(), Invalid> {
        set.check(&self.kind, values)
    }
}

fn in_range(kind: &str, measure: &Measure, n: i64) -> Result<(), Invalid> {
    let value = in_unit(n, measure);
    if measure.result == ResultType::Count && n < 0 {
        return Err(Invalid::Negative { kind: kind.into(), flag: measure.flag(), got: n.to_string() });
    }
    match measure.range {
        Some([least, greatest]) if value < least || value > greatest => Err(Invalid::OutOfRange {
            kind: kind.into(),
            flag: measure.flag(),
            range: with_unit(format!("{least} and {greatest}"), measure),
            got: value.to_string(),
        }),
        _ => Ok(()),
    }
}

/// Checks that one number does not exceed another; where either is missing there is nothing to check.
fn not_above(kind: &Kind, least: &str, most: &str, values: &BTreeMap<String, Measured>) -> Result<(), Invalid> {
    let number = |name: &str| {
        let measure = kind.measures.iter().find(|m| m.name == name)?;
        match values.get(name)?.value {
            Value::Int(n) => Some((measure, n)),
            Value::Text(_) => None,
        }
    };
    let (Some((least, low)), Some((most, high))) = (number(least), number(most)) else { return Ok(()) };
    // In the finer of the two scales, exactly; nine digits more fit in 128 bits.
    let scale = least.scale.max(most.scale);
    let fine = |n: i64, m: &Measure| i128::from(n) * 10i128.pow(u32::from(scale - m.scale));
    if fine(low, least) <= fine(high, most) {
        return Ok(());
    }
    Err(Invalid::Exceeds {
        kind: kind.kind.clone(),
        least: least.flag(),
        most: most.flag(),
        got: in_unit(low, least).to_string(),
        limit: with_unit(in_unit(high, most).to_string(), most),
    })
}

/// Checks that lists which belong together have one length; a list that is not there has none.
fn same_length(kind: &Kind, paired: &[String], values: &BTreeMap<String, Measured>) -> Result<(), Invalid> {
    let length = |name: &String| match values.get(name).map(|measured| &measured.value) {
        Some(Value::Text(list)) => list.split_whitespace().count(),
        Some(Value::Int(_)) | None => 0,
    };
    let Some((first, rest)) = paired.split_first() else { return Ok(()) };
    match rest.iter().find(|other| length(other) != length(first)) {
        Some(other) => Err(Invalid::Unpaired {
            kind: kind.kind.clone(),
            one: flag_of(kind, first),
            other: flag_of(kind, other),
            got: length(first),
            others: length(other),
        }),
        None => Ok(()),
    }
}

/// Returns what a version of a kind does not keep of an earlier one: a word to find the line by, and the reason.
///
/// Documents hold integers at the scale that was declared, and archives have a column a measure, in order.
fn broken_promise(known: &Kind, kind: &Kind) -> Option<(String, String)> {
    let place = |m: &Measure| kind.measures.iter().position(|n| n.name == m.name);
    if let Some(gone) = known.measures.iter().find(|m| place(m).is_none()) {
        let why = format!("measures are never removed, but `{}` of version {} is missing", gone.name, known.version);
        return Some((kind.kind.clone(), why));
    }
    known.measures.iter().enumerate().find_map(|(i, old)| {
        let new = kind.measures.iter().find(|n| n.name == old.name)?;
        let name = format!("\"{}\"", old.name);
        if (old.result, &old.unit, old.scale, &old.suffix) != (new.result, &new.unit, new.scale, &new.suffix) {
            let why = format!(
                "measure `{}` has another type, unit, scale or suffix than in version {}; name a new one instead",
                old.name, known.version
            );
            return Some((name, why));
        }
        (place(old) != Some(i)).then(|| {
            (name, format!("new measures go to the end, but `{}` of version {} has moved", old.name, known.version))
        })
    })
}

/// Returns words as people name alternatives, given their word for "or": `soil`, `whole-plant, newest-leaf or ear-leaf`.
pub fn one_of(words: &[String], or: &str) -> String {
    match words {
        [rest @ .., before, last] => {
            let first = rest.iter().chain([before]).map(String::as_str).collect::<Vec<_>>().join(", ");
            format!("{first} {or} {last}")
        }
        _ => words.concat(),
    }
}

fn flag_of(kind: &Kind, measure: &str) -> String {
    kind.measure(measure).map_or_else(|| measure.to_owned(), Measure::flag)
}

/// Returns a kept integer as a number in the measure's unit.
fn in_unit(n: i64, measure: &Measure) -> f64 {
    n as f64 / 10f64.powi(measure.scale.into())
}

/// Adds the unit as people write it: its symbol (`in`, `°C`), or its name where the symbol starts with a stroke.
fn with_unit(number: String, measure: &Measure) -> String {
    let code = measure.unit.as_deref().unwrap_or("1");
    let shown = match Unit::by_ucum(code) {
        Some(unit) if unit.symbol.starts_with('/') => unit.name,
        Some(unit) => unit.symbol,
        None => code,
    };
    if shown.is_empty() { number } else { format!("{number} {shown}") }
}

/// Reads a plain decimal as an integer × 10^scale; `None` where it is none or has more decimals.
fn scaled(text: &str, scale: u8) -> Option<i64> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, text),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let fraction = fraction.trim_end_matches('0');
    let plain = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if (whole.is_empty() && fraction.is_empty()) || !plain(whole) || !plain(fraction) || fraction.len() > scale.into() {
        return None;
    }
    format!("{whole}{fraction:0<width$}", width = usize::from(scale)).parse::<i64>().ok().map(|n| sign * n)
}

/// Tells whether a text is a growth stage of the leaf-collar scale, or of its counterpart for soybean.
fn is_stage(text: &str) -> bool {
    match text.split_at_checked(1) {
        Some(("V", "E" | "C" | "T")) => true,
        Some(("V", n)) => n.len() <= 2 && n.parse::<u8>().is_ok_and(|n| (1..=25).contains(&n)),
        Some(("R", n)) => n.len() == 1 && n.parse::<u8>().is_ok_and(|n| (1..=8).contains(&n)),
        _ => false,
    }
}

/// Returns the name nearest by spelling, if one is near.
fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    known
        .map(|k| (strsim::jaro_winkler(&name.to_lowercase(), &k.to_lowercase()), k))
        .filter(|(likeness, _)| *likeness > 0.7)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, k)| k)
}

/// Returns the hint of a message about an unknown name: the nearest one, or all of them.
fn nearest_of<'a>(name: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    match nearest(name, known.clone()) {
        Some(k) => format!("did you mean `{k}`?"),
        None => format!("known are {}", known.map(|k| format!("`{k}`")).collect::<Vec<_>>().join(", ")),
    }
}

fn parse<T: serde::de::DeserializeOwned>(file: &Path, text: &str) -> Result<T, BadDeclaration> {
    toml::from_str(text).map_err(|e| BadDeclaration {
        file: file.into(),
        line: e.span().map_or(1, |span| text[..span.start.min(text.len())].matches('\n').count() + 1),
        why: e.message().to_owned(),
    })
}

/// Returns the first line, from 1, on which a word stands.
fn line_of(text: &str, word: &str) -> usize {
    text.lines().position(|line| line.contains(word)).map_or(1, |n| n + 1)
}

fn toml_files(folder: &Path) -> Result<Vec<(PathBuf, String)>, BadDeclaration> {
    let bad = |file: &Path, e: std::io::Error| BadDeclaration { file: file.into(), line: 1, why: e.to_string() };
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(bad(folder, e)),
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(|e| bad(folder, e))?.path();
        if path.extension().is_some_and(|e| e == "toml") {
            files.push(path);
        }
    }
    files.sort();
    files.into_iter().map(|f| std::fs::read_to_string(&f).map_err(|e| bad(&f, e)).map(|t| (f.clone(), t))).collect()
}
