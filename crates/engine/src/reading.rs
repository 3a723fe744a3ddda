//! How people read what is kept: in the crew's units and language. The one place where a quantity becomes text.
//!
//! What is kept, exported or handed to programs (CSV, JSON) stays in the units that the kinds declare.

use ligule_agronomy::harvest::{Grain, kilograms_per_hectare};
use ligule_observation::kind::{Kind, Labels, Measure, ResultType};
use ligule_observation::kinds::KindSet;
use ligule_observation::record::{Measured, Value};
use ligule_observation::settings::Settings;
use ligule_units::{Dimension, Quantity, System, Unit, format_fixed, format_fixed_in};

use crate::error::{EngineError, Result};
use crate::number::{decimal, thousands};
use crate::one_unit::one_unit;
use crate::phrases::{Noun, Phrase};
use crate::{Engine, now};

/// The languages in which kinds that come with the program have labels, ISO 639-1.
pub const LANGUAGES: [&str; 2] = ["en", "es"];

/// The settings, as the crew's document calls them.
const UNITS: &str = "units";
const LANGUAGE: &str = "language";

/// Units and language of whoever reads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// US or metric.
    pub system: System,
    /// ISO 639-1, one of [`LANGUAGES`]. Where a kind has no label in it, English is read.
    pub language: String,
}

impl Default for Reading {
    fn default() -> Self {
        Self { system: System::Us, language: "en".to_owned() }
    }
}

/// Units as a person names them.
pub(crate) fn system(text: &str) -> Result<System> {
    text.trim().parse().map_err(|_| {
        EngineError::user(
            format!("expected the units `us` or `metric`, got `{text}`"),
            "such as `--unit-system metric`",
        )
    })
}

/// A language as a person names it.
pub(crate) fn language(text: &str) -> Result<String> {
    let text = text.trim().to_lowercase();
    if LANGUAGES.contains(&text.as_str()) {
        return Ok(text);
    }
    Err(EngineError::user(
        format!("there are no labels in `{text}`"),
        format!("the languages are {}", LANGUAGES.join(", ")),
    ))
}

impl Reading {
    /// Reads a crew's settings; what this program does not know of is read as if it were not set.
    pub(crate) fn of(settings: &Settings) -> Self {
        let usual = Self::default();
        Self {
            system: settings.get(UNITS).and_then(|text| text.parse().ok()).unwrap_or(usual.system),
            language: settings.get(LANGUAGE).and_then(|text| language(text).ok()).unwrap_or(usual.language),
        }
    }

    /// Returns the same with other units or another language, where they are given.
    ///
    /// # Errors
    /// Units or a language that this program does not know.
    pub fn but(mut self, units: Option<&str>, tongue: Option<&str>) -> Result<Self> {
        if let Some(units) = units {
            self.system = system(units)?;
        }
        if let Some(tongue) = tongue {
            self.language = language(tongue)?;
        }
        Ok(self)
    }

    /// Returns a label in the reader's language, in English where there is none, else the name.
    pub fn label<'a>(&self, labels: &'a Labels, name: &'a str) -> &'a str {
        labels.get(&self.language).or_else(|| labels.get("en")).map_or(name, String::as_str)
    }

    /// Returns what a kind is called: by its name in English, as people type it, else by its label.
    pub fn kind<'a>(&self, kind: Option<&'a Kind>, name: &'a str) -> &'a str {
        kind.filter(|_| self.language != "en").map_or(name, |kind| self.label(&kind.label, name))
    }

    /// Returns what a measure is called: `name` in English, as people type it, else its label.
    pub fn measure<'a>(&self, measure: Option<&'a Measure>, name: &'a str) -> &'a str {
        measure.filter(|_| self.language != "en").map_or(name, |measure| self.label(&measure.label, name))
    }

    /// Returns a value with its unit.
    pub fn value(&self, kinds: &KindSet, measure: Option<&Measure>, measured: &Measured) -> String {
        let Some(measure) = measure else {
            return match &measured.value {
                Value::Int(n) => n.to_string(),
                Value::Text(text) => text.clone(),
            };
        };
        let unit = measure.unit.as_deref().filter(|code| *code != "1").and_then(Unit::by_ucum);
        match (&measured.value, unit) {
            (Value::Int(n), Some(unit)) => format_fixed_in(*n, unit, measure.scale, self.unit_read(measure, unit)),
            (Value::Int(n), None) => decimal(*n, measure.scale),
            (Value::Text(text), Some(unit)) if measure.result == ResultType::List => self.list(text, measure, unit),
            (Value::Text(code), _) if measure.result == ResultType::Choice && self.language != "en" => {
                code_label(kinds, measure, code, &self.language)
            }
            (Value::Text(text), _) => text.clone(),
        }
    }

    /// Returns a number in the unit in which it is kept, where it has one.
    pub(crate) fn as_kept(&self, measure: &Measure, value: &Value) -> Option<String> {
        let unit = measure.unit.as_deref().filter(|code| *code != "1").and_then(Unit::by_ucum)?;
        match value {
            Value::Int(n) if self.unit_read(measure, unit) != unit => {
                Some(format!("{} {}", decimal(*n, measure.scale), unit.symbol))
            }
            _ => None,
        }
    }

    /// Returns between which results a measure lies, in the unit that is read: `4 to 80 in`, `10.16 to 203.2 cm`.
    pub fn range(&self, measure: &Measure, low: f64, high: f64) -> String {
        let ([low, high], symbol) = self.bounds(measure, [low, high]);
        let range = self.say(Phrase::RangeOf, &[("low", &low), ("high", &high)]);
        format!("{range} {symbol}").trim_end().to_owned()
    }

    /// Returns the least and the greatest of a measure's results in the unit that is read, with that unit's symbol. What another
    /// unit makes of them is told in few digits, and never outside of what is taken.
    pub fn bounds(&self, measure: &Measure, [low, high]: [f64; 2]) -> ([f64; 2], &'static str) {
        let unit = measure.unit.as_deref().filter(|code| *code != "1").and_then(Unit::by_ucum);
        let Some(unit) = unit else { return ([low, high], "") };
        let shown = self.unit_read(measure, unit);
        if shown == unit {
            return ([low, high], shown.symbol);
        }
        let [low, high] = [low, high].map(|bound| in_unit(bound, unit, shown).0);
        ([rounded(low, f64::ceil), rounded(high, f64::floor)], shown.symbol)
    }

    /// Returns an answer to a question that named the unit which is read: a bare number is in that unit, whatever unit
    /// its kind keeps.
    pub(crate) fn in_unit_asked(&self, measure: &Measure, answer: &str) -> String {
        let kept = measure.unit.as_deref().filter(|code| *code != "1").and_then(Unit::by_ucum);
        let Some(asked) = kept.map(|kept| self.unit_read(measure, kept)).filter(|asked| Some(*asked) != kept) else {
            return answer.to_owned();
        };
        let one = Unit::by_ucum("1").expect("in the table");
        let with_unit = |word: &str| {
            let (number, times) = word.split_once(':').map_or((word, None), |(number, times)| (number, Some(times)));
            let bare = ligule_units::parse(number.trim(), one).is_ok_and(|quantity| quantity.unit == one);
            match (bare, times) {
                (false, _) => word.to_owned(),
                (true, None) => format!("{}{}", number.trim_end(), asked.symbol),
                (true, Some(times)) => format!("{}{}:{times}", number.trim_end(), asked.symbol),
            }
        };
        match measure.result {
            ResultType::List if answer.contains([',', ';']) => {
                answer.split([',', ';']).map(with_unit).collect::<Vec<_>>().join(",")
            }
            ResultType::List => answer.split_whitespace().map(with_unit).collect::<Vec<_>>().join(" "),
            ResultType::Quantity => with_unit(answer),
            _ => answer.to_owned(),
        }
    }

    /// Returns the unit in which a measure that is kept in `kept` is read: metric readers read a yield, where its kind has it in
    /// bushels and as a mass, in tonnes.
    pub(crate) fn unit_read(&self, measure: &Measure, kept: &'static Unit) -> &'static Unit {
        let tonnes = Unit::by_ucum("t/har").filter(|tonnes| tonnes.dimension == kept.dimension);
        let of_yield = self.system == System::Metric && measure.name.ends_with(MASS);
        tonnes.filter(|_| of_yield).unwrap_or_else(|| self.system.unit_for(kept))
    }

    /// Tells whether a measure is asked for: bushels are not where the reader has none and the kind has the same as a mass.
    pub(crate) fn asks(&self, kind: &Kind, measure: &Measure) -> bool {
        !self.lacks_unit(measure) || mass_of(kind, measure).is_none()
    }

    /// Tells whether a measure is kept in bushels and the reader has none.
    fn lacks_unit(&self, measure: &Measure) -> bool {
        let unit = measure.unit.as_deref().and_then(Unit::by_ucum);
        self.system == System::Metric && unit.is_some_and(|unit| unit.dimension == Dimension::BushelsPerArea)
    }

    /// Returns what was typed for a measure, a bare number with the unit that is read: the one rule for flags, corrections and
    /// answers.
    ///
    /// # Errors
    /// A bare number where the reader has no unit of that sort, as bushels in metric units, and it is more tonnes than can be; a list of which only some numbers
    /// have a unit.
    pub(crate) fn typed(&self, kind: &Kind, measure: &Measure, text: &str) -> Result<String> {
        let text = &self.without_commas(kind, measure, text.trim())?;
        let bare = || ligule_units::parse(text, Unit::by_ucum("1")?).ok().filter(|quantity| quantity.unit.ucum == "1");
        if self.lacks_unit(measure) && bare().is_some() {
            // Whoever has no bushels tells a yield in tonnes.
            if let Some(mass) = mass_of(kind, measure).filter(|mass| self.fits(mass, text)) {
                return Ok(self.in_unit_asked(mass, text));
            }
            let ways = self.with_yield_unit(kind, measure, text).join(self.word(Phrase::WordOr));
            return Err(EngineError::user(
                self.say(Phrase::ToldInBushels, &[("flag", &measure.flag()), ("kind", &kind.kind), ("text", &text)]),
                self.say(Phrase::WriteYieldUnit, &[("ways", &ways)]),
            ));
        }
        let text = match measure.unit.as_deref().and_then(Unit::by_ucum).map(|kept| self.unit_read(measure, kept)) {
            Some(bare) => {
                one_unit(measure, text, bare, false).map_err(|several| several.refusal(measure, text, self))?
            }
            None => text.clone(),
        };
        Ok(self.in_unit_asked(measure, &text))
    }

    /// Returns a bare number of a yield with each unit in which it can be one; examples where there is none.
    fn with_yield_unit(&self, kind: &Kind, measure: &Measure, text: &str) -> Vec<String> {
        let mass = mass_of(kind, measure);
        let way = |number: &str, unit| format!("`--{} {number}{unit}`", measure.flag());
        let fits =
            |measure: Option<&Measure>, unit: &str| measure.is_some_and(|m| self.fits(m, &format!("{text}{unit}")));
        if fits(Some(measure), "bu/ac") {
            vec![way(text, "bu/ac")]
        } else if fits(mass, "kg/ha") {
            vec![way(text, "kg/ha")]
        } else {
            vec![way("150", "bu/ac"), way("9.4", "t/ha")]
        }
    }

    /// Returns what a Spanish reader typed with the points for decimals that are read everywhere: some of them write a comma
    /// there and a point at the thousands, others the reverse.
    ///
    /// # Errors
    /// A number that is either within what the measure may be.
    fn without_commas(&self, kind: &Kind, measure: &Measure, text: &str) -> Result<String> {
        let numeric = matches!(measure.result, ResultType::Quantity | ResultType::Count | ResultType::List);
        if self.language != "es" || !numeric || !text.contains([',', '.']) {
            return Ok(text.to_owned());
        }
        if measure.result != ResultType::List {
            return self.with_point(kind, measure, text);
        }
        // In a list of whole numbers every comma stands between two of them.
        let inside = |text: &str| marks(text).iter().any(|(_, mark)| *mark == ',');
        if measure.scale == 0 || !inside(text) {
            return Ok(text.to_owned());
        }
        let numbers: Vec<&str> = if text.contains(';') {
            text.split(';').collect()
        } else if text.contains(", ") {
            text.split(", ").collect()
        } else {
            text.split_whitespace().collect()
        };
        let commas = marks(text).iter().filter(|(_, mark)| *mark == ',').count();
        match (numbers.as_slice(), commas) {
            ([one], 1) => {
                let (one, two) = (one.replace(',', "."), one.replace(',', " "));
                let what: [(&str, &dyn std::fmt::Display); 3] =
                    [("flag", &measure.flag()), ("kind", &kind.kind), ("text", &text)];
                Err(EngineError::user(
                    self.say(Phrase::OneNumberOrTwo, &what),
                    self.say(Phrase::WriteOneOrTwo, &[("one", &one), ("two", &two)]),
                ))
            }
            ([_], _) => Ok(text.to_owned()),
            (several, _) => {
                let read = several.iter().map(|number| self.with_point(kind, measure, number.trim()));
                Ok(read.collect::<Result<Vec<_>>>()?.join(";"))
            }
        }
    }

    /// Returns a number with a point for its decimals, where it has one mark.
    fn with_point(&self, kind: &Kind, measure: &Measure, text: &str) -> Result<String> {
        let (decimal, whole) = match marked(text, |whole| self.fits(measure, whole)) {
            Marked::One(text) => return Ok(text),
            Marked::Either { decimal, whole } => (decimal, whole),
        };
        let with: [(&str, &dyn std::fmt::Display); 5] = [
            ("flag", &measure.flag()),
            ("kind", &kind.kind),
            ("text", &text),
            ("decimal", &decimal),
            ("whole", &whole),
        ];
        Err(EngineError::user(
            self.say(Phrase::NumberTwoWays, &with),
            self.say(Phrase::WriteDecimalOrWhole, &with[3..]),
        ))
    }

    /// Returns what was typed of a field with a point for its decimals, where a Spanish reader wrote a comma; `fits` tells
    /// whether a number can be one. *Errors:* it can be read in two ways; which those are.
    pub(crate) fn without_comma(&self, text: &str, fits: impl Fn(&str) -> bool) -> std::result::Result<String, String> {
        if self.language != "es" {
            return Ok(text.to_owned());
        }
        match marked(text, fits) {
            Marked::One(text) => Ok(text),
            Marked::Either { decimal, whole } => {
                Err(self.say(Phrase::WriteDecimalOrWhole, &[("decimal", &decimal), ("whole", &whole)]))
            }
        }
    }

    /// Tells whether a text, of which a bare number is in the unit that is read, lies within what a measure may be.
    fn fits(&self, measure: &Measure, text: &str) -> bool {
        let unit = measure.unit.as_deref().unwrap_or("1");
        let within = |unit: &'static Unit| {
            let quantity = ligule_units::parse(&self.in_unit_asked(measure, text), unit).ok()?;
            let kept = quantity.to_fixed(unit, measure.scale).ok()? as f64 / 10f64.powi(measure.scale.into());
            Some(measure.range.is_none_or(|[low, high]| (low..=high).contains(&kept)))
        };
        Unit::by_ucum(unit).and_then(within).unwrap_or(false)
    }

    /// Returns a value as it can be typed to mean the same: as it was entered, with its unit where a bare number would be read
    /// in another.
    pub(crate) fn to_type(&self, measure: &Measure, measured: &Measured) -> String {
        let kept = match &measured.value {
            Value::Int(n) => decimal(*n, measure.scale),
            Value::Text(text) => text.clone(),
        };
        let text = measured.entered.as_ref().unwrap_or(&kept);
        let unit = measure.unit.as_deref().filter(|code| *code != "1").and_then(Unit::by_ucum);
        match unit {
            Some(unit) if self.lacks_unit(measure) || self.in_unit_asked(measure, text) != *text => {
                let numbers = kept.split_whitespace().map(|number| format!("{number}{}", unit.symbol));
                numbers.collect::<Vec<_>>().join(",")
            }
            _ => text.clone(),
        }
    }

    /// Returns an area, given in hectares: `40.00 ac`, `16.19 ha`.
    pub fn hectares(&self, hectares: f64) -> String {
        let (value, unit) = self.converted(hectares, "har");
        format!("{value:.2} {unit}")
    }

    /// Returns the numbers of a list, the unit once behind them; as kept where one of them is no number.
    fn list(&self, text: &str, measure: &Measure, unit: &'static Unit) -> String {
        let shown = self.system.unit_for(unit);
        let one = |word: &str| {
            let bare = format_fixed(fixed(word, measure.scale)?, unit, measure.scale, self.system);
            Some(bare.strip_suffix(shown.symbol)?.trim_end().to_owned())
        };
        match text.split_whitespace().map(one).collect::<Option<Vec<String>>>() {
            Some(numbers) => format!("{} {}", numbers.join(" "), shown.symbol),
            None => format!("{text} {}", unit.symbol),
        }
    }

    /// Converts a number of a unit, by its UCUM code, to the unit that is read, with that unit's symbol; unchanged where
    /// the unit is not known.
    pub fn converted(&self, value: f64, ucum: &str) -> (f64, &'static str) {
        let Some(unit) = Unit::by_ucum(ucum) else { return (value, "") };
        let shown = self.system.unit_for(unit);
        in_unit(value, unit, shown)
    }

    /// Returns a length with its unit, `decimals` at most in inches and one less in centimetres; without them as it is.
    pub fn inches(&self, inches: f64, decimals: Option<usize>) -> String {
        match (self.converted(inches, "[in_i]"), decimals) {
            ((value, "in"), None) => format!("{value} in"),
            ((value, "in"), Some(decimals)) => format!("{value:.decimals$} in"),
            ((value, unit), decimals) => format!("{:.*} {unit}", decimals.map_or(1, |d| d.saturating_sub(1)), value),
        }
    }

    /// Returns plants or seeds per area: `29,004 plants/ac`, `71,670 plants/ha`.
    pub fn per_acre(&self, what: Noun, per_acre: f64) -> String {
        let (value, unit) = self.converted(per_acre, "1/[acr_us]");
        format!("{} {}{unit}", self.thousands(value), self.noun(what, false))
    }

    /// Returns a yield of a grain at its standard moisture: `203.4 bu/ac`, `12.77 t/ha`.
    pub fn yield_per_acre(&self, grain: Grain, bushels: f64) -> String {
        match (self.system, kilograms_per_hectare(grain, bushels)) {
            (System::Metric, Ok(kilograms)) => format!("{:.2} t/ha", kilograms / 1000.0),
            _ => format!("{bushels:.1} bu/ac"),
        }
    }

    /// Tells whether yields are read as a mass, in tonnes to the hectare, and not in bushels.
    pub fn reads_tonnes(&self) -> bool {
        self.system == System::Metric
    }

    /// Returns an area of a thousandth of an acre or several: `1/1000 ac`, `4.05 m²`.
    pub fn thousandths_of_an_acre(&self, thousandths: f64) -> String {
        match self.system {
            System::Us => format!("{thousandths}/1000 ac"),
            System::Metric => {
                format!("{:.2} m²", ligule_units::Area::from_acres(thousandths / 1000.0).square_metres())
            }
        }
    }

    /// Returns the area to which plants are told, as a word.
    pub fn area_word(&self) -> &'static str {
        match self.system {
            System::Us => "acre",
            System::Metric => "hectare",
        }
    }

    /// Returns the bare number of plants per area.
    pub fn bare_per_acre(&self, per_acre: f64) -> String {
        self.thousands(self.converted(per_acre, "1/[acr_us]").0)
    }

    /// Returns a whole number with a mark at the thousands: a comma in English; in Spanish, where comma and point mean either, a
    /// blank that does not break.
    ///
    /// *Source:* International Bureau of Weights and Measures (2019), The International System of Units, 9th edition, 5.4.4.
    /// Memory.
    pub fn thousands(&self, value: f64) -> String {
        match self.language.as_str() {
            "es" => thousands(value).replace(',', "\u{a0}"),
            _ => thousands(value),
        }
    }
}

/// Returns the measure that tells as a mass what another tells in bushels.
fn mass_of<'a>(kind: &'a Kind, measure: &Measure) -> Option<&'a Measure> {
    kind.measure(&format!("{}{MASS}", measure.name))
}

/// What a measure's name ends with that tells as a mass what another tells in bushels.
const MASS: &str = "_mass";

/// Converts a number of one unit to another of the same dimension, with that one's symbol.
pub(crate) fn in_unit(value: f64, unit: &Unit, shown: &'static Unit) -> (f64, &'static str) {
    if shown.ucum == unit.ucum {
        return (value, shown.symbol);
    }
    let base = value * unit.factor.to_f64() + unit.offset.to_f64();
    ((base - shown.offset.to_f64()) / shown.factor.to_f64(), shown.symbol)
}

/// A number with a point for its decimals.
enum Marked {
    /// It is read in one way.
    One(String),
    /// Its mark may stand at the decimals or at the thousands.
    Either { decimal: String, whole: String },
}

/// Reads a number in which a comma or a point may stand before the decimals or at the thousands; `fits` tells whether it
/// can be as large as without the mark.
fn marked(text: &str, fits: impl Fn(&str) -> bool) -> Marked {
    let [(at, _)] = marks(text)[..] else { return Marked::One(text.to_owned()) };
    let (before, after) = (&text[..at], &text[at + 1..]);
    let digits = |text: &str| text.chars().take_while(char::is_ascii_digit).count();
    let ahead: String = before.chars().rev().take_while(char::is_ascii_digit).collect();
    let decimal = format!("{before}.{after}");
    let whole = format!("{before}{after}");
    let at_thousands = digits(after) == 3 && ahead.len() <= 3 && !ahead.ends_with('0');
    if !at_thousands || !fits(&whole) {
        return Marked::One(decimal);
    }
    let (part, unit) = after.split_at(3);
    let part = part.trim_end_matches('0');
    let decimal = match part.len() {
        0 => format!("{before}{unit}"),
        // One more digit, so that it is not read as thousands again.
        3 => format!("{before}.{part}0{unit}"),
        _ => format!("{before}.{part}{unit}"),
    };
    Marked::Either { decimal, whole }
}

/// Returns where a comma or a point stands between two digits.
fn marks(text: &str) -> Vec<(usize, char)> {
    let bytes = text.as_bytes();
    let between =
        |at: usize| at > 0 && bytes[at - 1].is_ascii_digit() && bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
    text.char_indices().filter(|(at, mark)| matches!(mark, ',' | '.') && between(*at)).collect()
}

/// Returns a decimal number as the integer that is kept at a scale.
fn fixed(word: &str, scale: u8) -> Option<i64> {
    let one = Unit::by_ucum("1")?;
    let quantity: Quantity = ligule_units::parse(word, one).ok()?;
    quantity.to_fixed(one, scale).ok()
}

/// Returns what people call a code of a choice in a language; in English where there is none, the code where no list has it.
pub(crate) fn code_label(kinds: &KindSet, measure: &Measure, code: &str, language: &str) -> String {
    let of = |labels: &Labels| labels.get(language).or_else(|| labels.get("en")).cloned();
    let list = measure.codelist.as_ref().and_then(|list| kinds.codelist(list));
    let label = match list {
        Some(list) => list.codes.iter().find(|known| known.code == code).and_then(|known| of(&known.label)),
        None => measure.choices.iter().find(|known| known.code == code).and_then(|known| of(&known.label)),
    };
    label.unwrap_or_else(|| code.to_owned())
}

impl Engine {
    /// Returns the units and language in which answers are told.
    pub fn reading(&self) -> &Reading {
        &self.reading
    }

    /// Returns what a crop is called, by its code; in English the code.
    pub fn crop_read(&self, code: &str) -> String {
        let measure = self.kinds.get("planting").and_then(|kind| kind.measure("crop"));
        let measure = measure.filter(|_| self.reading.language != "en");
        measure
            .map_or_else(|| code.to_owned(), |measure| code_label(&self.kinds, measure, code, &self.reading.language))
    }

    /// Tells answers in other units or another language than the crew's, until the journal is opened again.
    ///
    /// # Errors
    /// Units or a language that this program does not know.
    pub fn read_in(mut self, units: Option<&str>, tongue: Option<&str>) -> Result<Self> {
        self.reading = self.reading.but(units, tongue)?;
        Ok(self)
    }

    /// Sets units or language for the whole crew; what is not given stays. Returns what holds now.
    ///
    /// # Errors
    /// Units or a language that this program does not know.
    pub fn set_reading(&mut self, units: Option<&str>, tongue: Option<&str>) -> Result<Reading> {
        let mut new = Settings::new();
        if let Some(units) = units {
            new.insert(UNITS.to_owned(), system(units)?.to_string());
        }
        if let Some(tongue) = tongue {
            new.insert(LANGUAGE.to_owned(), language(tongue)?);
        }
        if new.is_empty() {
            return Err(EngineError::user(
                "nothing to set",
                "give units, `us` or `metric`, or a language, `en` or `es`",
            ));
        }
        self.journal.set_settings(&new, &self.journal.identity().person, now())?;
        self.reading = Reading::of(&self.journal.settings()?);
        Ok(self.reading.clone())
    }

    /// Returns what the crew has set, whatever this call was told.
    pub fn crew_reading(&self) -> Result<Reading> {
        Ok(Reading::of(&self.journal.settings()?))
    }
}

/// Rounds to two decimals, of hundreds to one and of thousands to none; in the direction of `inward` where that changes it.
fn rounded(value: f64, inward: fn(f64) -> f64) -> f64 {
    let by = match value.abs() {
        1000.0.. => 1.0,
        100.0.. => 10.0,
        _ => 100.0,
    };
    let near = (value * by).round();
    // Closer than what reckoning with floating point leaves over.
    let whole = if (value * by - near).abs() < 1e-6 { near } else { inward(value * by) };
    whole / by
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(kind: &str, measure: &str, value: Value, system: System, language: &str) -> String {
        let kinds = KindSet::builtin();
        let measure = kinds.get(kind).and_then(|kind| kind.measure(measure)).expect("a measure");
        let reading = Reading { system, language: language.to_owned() };
        reading.value(&kinds, Some(measure), &Measured { value, entered: None })
    }

    #[test]
    fn quantities_and_lists_are_told_in_the_readers_units() {
        let list = || Value::Text("1.25 1.125 1".into());
        assert_eq!(shown("stand-count", "row_width", Value::Int(30_000), System::Us, "en"), "30 in");
        assert_eq!(shown("stand-count", "row_width", Value::Int(30_000), System::Metric, "en"), "76.2 cm");
        assert_eq!(shown("seed-depth", "seed_to_crown", list(), System::Us, "en"), "1.25 1.125 1 in");
        assert_eq!(shown("seed-depth", "seed_to_crown", list(), System::Metric, "en"), "3.175 2.858 2.54 cm");
        assert_eq!(shown("application", "temperature", Value::Int(200), System::Us, "en"), "68 °F");
        assert_eq!(shown("application", "temperature", Value::Int(200), System::Metric, "en"), "20 °C");
        assert_eq!(shown("leaf-stage", "collars", Value::Text("4 4 5".into()), System::Metric, "en"), "4 4 5");
    }

    #[test]
    fn codes_are_labels_in_other_languages() {
        let placed = || Value::Text("broadcast".into());
        assert_eq!(shown("application", "placement", placed(), System::Us, "en"), "broadcast");
        assert_eq!(shown("application", "placement", placed(), System::Us, "es"), "cobertura total");
        assert_eq!(shown("application", "placement", Value::Text("?".into()), System::Us, "es"), "?");
    }

    #[test]
    fn numbers_of_answers_are_converted_in_one_place() {
        let metric = Reading { system: System::Metric, language: "en".into() };
        assert_eq!(Reading::default().per_acre(Noun::Plant, 30_000.0), "30,000 plants/ac");
        // 30,000 / 0.40468564224 ha
        assert_eq!(metric.per_acre(Noun::Plant, 30_000.0), "74,132 plants/ha");
        // 56 lb/bu × 0.45359237 kg/lb ÷ 0.40468564224 ha/ac = 62.77 kg/ha
        assert_eq!(metric.yield_per_acre(Grain::Corn, 200.0), "12.55 t/ha");
        assert_eq!(Reading::default().yield_per_acre(Grain::Corn, 200.0), "200.0 bu/ac");
        // 4046.8564224 m² ÷ 1000
        assert_eq!(metric.thousandths_of_an_acre(1.0), "4.05 m²");
        assert_eq!(Reading::default().thousandths_of_an_acre(2.5), "2.5/1000 ac");
        assert_eq!(Reading::default().inches(1.75, Some(2)), "1.75 in");
        assert_eq!(metric.inches(1.75, Some(2)), "4.4 cm");
        assert_eq!(metric.inches(30.0, None), "76.2 cm");
        let (celsius, unit) = metric.converted(180.0, "5.K.d/9");
        assert!((celsius - 100.0).abs() < 1e-9 && unit == "°C·d");
    }

    #[test]
    fn a_bare_answer_is_in_the_unit_of_the_question() {
        let kinds = KindSet::builtin();
        let measure = |kind: &str, name: &str| kinds.get(kind).and_then(|kind| kind.measure(name)).expect("a measure");
        let metric = Reading { system: System::Metric, language: "en".into() };
        let width = measure("stand-count", "row_width");
        assert_eq!(metric.range(width, 4.0, 80.0), "10.16 to 203.2 cm");
        // 0.01 in is 0.0254 cm, and 40 in are 101.6 cm, of which one decimal is told.
        assert_eq!(metric.range(width, 0.01, 40.0), "0.03 to 101.6 cm");
        assert_eq!(Reading::default().range(width, 4.0, 80.0), "4 to 80 in");
        for (answer, read) in [("76.2", "76.2cm"), ("30in", "30in"), ("1 1/2", "1 1/2cm"), ("wide", "wide")] {
            assert_eq!(metric.in_unit_asked(width, answer), read);
            assert_eq!(
                Reading::default().in_unit_asked(width, answer),
                answer,
                "it is kept in the unit that was asked"
            );
        }
        let tape = measure("plant-spacing", "positions");
        assert_eq!(metric.in_unit_asked(tape, "0 15 30cm"), "0cm 15cm 30cm");
        assert_eq!(metric.in_unit_asked(tape, "0, 15 1/2;30"), "0cm, 15 1/2cm,30cm");
        assert_eq!(metric.in_unit_asked(measure("seed-depth", "seed_to_surface"), "4:2 5"), "4cm:2 5cm");
        assert_eq!(metric.in_unit_asked(measure("leaf-stage", "collars"), "4:2 5"), "4:2 5", "counts have no unit");
        // What the program offers to be typed again means the same to whoever reads it.
        let int = |n| Measured { value: Value::Int(n), entered: None };
        let entered = |text: &str| Measured { value: Value::Int(30_000), entered: Some(text.into()) };
        assert_eq!(Reading::default().to_type(width, &int(30_000)), "30");
        assert_eq!(metric.to_type(width, &int(30_000)), "30in");
        assert_eq!(metric.to_type(width, &entered("30.0")), "30in", "it was typed in inches, bare");
        assert_eq!(metric.to_type(width, &entered("2ft6in")), "2ft6in");
        assert_eq!(metric.to_type(measure("harvest", "yield"), &int(2034)), "203.4bu/ac");
        // Metric crews weigh their yield in tonnes; what is kept is kilograms.
        let mass = measure("harvest", "yield_mass");
        assert_eq!(metric.in_unit_asked(mass, "9.4"), "9.4t/ha");
        assert_eq!(metric.range(mass, 0.0, 45_000.0), "0 to 45 t/ha");
        assert_eq!(metric.to_type(mass, &int(9400)), "9400kg/ha");
        assert_eq!(metric.value(&kinds, Some(mass), &int(9_437)), "9.437 t/ha");
        // Kept in °C, asked of American readers in °F.
        assert_eq!(Reading::default().in_unit_asked(measure("frost-damage", "lowest"), "27"), "27°F");
    }

    /// In the countries of the language a comma or a point stands before decimals or at the thousands: what can only be one is
    /// read, what can be both is asked back.
    #[test]
    fn a_spanish_number_is_read_in_one_way_or_refused() {
        let kinds = KindSet::builtin();
        let spanish = Reading { system: System::Metric, language: "es".into() };
        let typed = |kind: &str, name: &str, text: &str| {
            let kind = kinds.get(kind).expect("a kind");
            let measure = kind.measure(name).expect("a measure");
            spanish.typed(kind, measure, text).map_err(|error| error.hint.unwrap_or_default())
        };
        for (kind, measure, text, read) in [
            ("harvest", "moisture", "15,5", "15.5"),
            ("harvest", "moisture", "15.5", "15.5"),
            ("harvest", "moisture", "0,125", "0.125"),
            ("harvest", "moisture", "1,234", "1.234"),
            ("harvest", "yield_mass", "9,437", "9.437t/ha"),
            ("harvest", "yield_mass", "9,4 t/ha", "9.4 t/ha"),
            ("stand-count", "length", "5,310 m", "5.310 m"),
            ("stand-count", "length", "5,31", "5.31m"),
            ("harvest", "population", "75000", "75000/ha"),
            ("seed-depth", "seed_to_surface", "3,5 4,2", "3.5cm,4.2cm"),
            ("seed-depth", "seed_to_surface", "3,5; 4", "3.5cm,4cm"),
            ("seed-depth", "seed_to_surface", "3,5, 4,2", "3.5cm,4.2cm"),
            ("seed-depth", "seed_to_surface", "3, 4, 5", "3cm, 4cm, 5cm"),
            ("plant-spacing", "positions", "0,15,31", "0cm,15cm,31cm"),
            ("leaf-stage", "collars", "4,5", "4,5"),
            ("note", "text", "1.234 y 5,6", "1.234 y 5,6"),
        ] {
            let said = typed(kind, measure, text);
            assert_eq!(said.as_deref().map(|said| said.replace(", ", ",")), Ok(read.replace(", ", ",")), "{text}");
        }
        for (kind, measure, text, hint) in [
            ("harvest", "population", "75.000", "escriba `75` si la marca es decimal, `75000` si es de miles"),
            ("harvest", "population", "75,125", "escriba `75.1250` si la marca es decimal, `75125`"),
            ("pest-count", "plants_examined", "1.000", "escriba `1` si la marca es decimal, `1000`"),
            ("seed-depth", "seed_to_surface", "3,5", "escriba `3.5` si es uno, `3 5` si son dos"),
        ] {
            let refused = typed(kind, measure, text).expect_err(text);
            assert!(refused.starts_with(hint), "{text}: {refused}");
        }
        // What English readers type is read as it always was.
        let english = Reading { system: System::Metric, ..Reading::default() };
        let kind = kinds.get("harvest").expect("a kind");
        let population = kind.measure("population").expect("a measure");
        assert_eq!(english.typed(kind, population, "75.000").as_deref(), Ok("75.000/ha"));
        assert_eq!(spanish.thousands(1_234_567.0), "1\u{a0}234\u{a0}567");
        assert_eq!(english.thousands(1_234_567.0), "1,234,567");
    }

    /// Each hint to a bare yield is a text that is taken as it stands.
    #[test]
    fn a_bare_yield_is_answered_with_what_it_can_be() {
        let kinds = KindSet::builtin();
        let kind = kinds.get("harvest").expect("a kind");
        let metric = Reading { system: System::Metric, ..Reading::default() };
        for (text, hint) in [
            ("203.4", "`--yield 203.4bu/ac`"),
            ("9400", "`--yield 9400kg/ha`"),
            ("-3", "`--yield 150bu/ac`, or `--yield 9.4t/ha`"),
        ] {
            let measure = kind.measure("yield").expect("a measure");
            let refused = metric.typed(kind, measure, text).expect_err("bushels or tonnes");
            assert_eq!(refused.hint, Some(format!("write the unit behind it: {hint}")), "{text}");
            for way in hint.split('`').filter(|way| way.starts_with("--")) {
                let (_, text) = way.split_once(' ').expect("a flag and its value");
                let typed = metric.typed(kind, measure, text).expect("it has its unit");
                let given = [("yield".to_owned(), typed)];
                let today = jiff::civil::date(2026, 11, 1);
                let (values, wrong) =
                    crate::entry::read_values(&kinds, kind, &given, &Default::default(), today, &metric);
                assert!(wrong.is_empty() && values.len() == 1, "{way}: {wrong:?}");
            }
        }
    }

    /// A yield of metric crews is in tonnes, whichever of its two flags is typed.
    #[test]
    fn a_bare_yield_of_metric_readers_is_in_tonnes() {
        let kinds = KindSet::builtin();
        for (kind, flag, language, text, kept) in [
            ("yield-estimate", "estimate", "es", "9,4", 9_400),
            ("harvest", "yield", "es", "12,77", 12_770),
            ("harvest", "yield", "en", "12.77", 12_770),
            ("harvest", "yield", "en", "0", 0),
        ] {
            let reading = Reading { system: System::Metric, language: language.into() };
            let kind = kinds.get(kind).expect("a kind");
            let measure = kind.measure(flag).expect("a measure");
            let given = [(flag.to_owned(), reading.typed(kind, measure, text).expect("tonnes"))];
            let today = jiff::civil::date(2026, 11, 1);
            let (values, wrong) = crate::entry::read_values(&kinds, kind, &given, &Default::default(), today, &reading);
            assert!(wrong.is_empty(), "{text}: {wrong:?}");
            assert_eq!(values[&format!("{flag}{MASS}")].value, Value::Int(kept), "{text}");
        }
    }

    #[test]
    fn what_is_not_known_is_refused_or_read_as_unset() {
        assert!(language("de").expect_err("no labels").hint.expect("a hint").contains("en, es"));
        assert!(system("imperial").is_err());
        let newer = Settings::from([(UNITS.to_owned(), "nautical".to_owned()), (LANGUAGE.to_owned(), "es".to_owned())]);
        assert_eq!(Reading::of(&newer), Reading { language: "es".into(), ..Reading::default() });
    }
}
