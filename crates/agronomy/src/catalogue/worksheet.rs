//! A formula as a worksheet: named inputs with units, the steps shown, the answer.

use std::collections::BTreeMap;
use std::fmt;

use jiff::civil::Date;
use ligule_units::{DegreeDays, Length, PlantDensity, Temperature, Unit, parse};

use crate::error::Error;
use crate::harvest::{Grain, kilograms_per_hectare};

/// A formula that can be worked by name.
#[derive(Debug)]
pub struct Worksheet {
    /// Its name on the command line: `row-length`.
    pub name: &'static str,
    /// What it works out, in one line.
    pub title: &'static str,
    /// What is asked for, in the order in which a person is asked.
    pub inputs: &'static [Input],
    /// Author, year, title of every publication it rests on; what is from memory or practice says so.
    pub source: &'static str,
    /// Inputs that work, as they are typed after the name.
    pub example: &'static str,
    /// Works it out; the inputs have been read, their ranges not yet checked.
    pub(crate) work: fn(&Given) -> Result<Answer, Error>,
}

/// One input of a worksheet.
#[derive(Debug)]
pub struct Input {
    /// Its name, with hyphens: `row-width`.
    pub name: &'static str,
    /// What it is, without a full stop.
    pub help: &'static str,
    /// What is read.
    pub takes: Takes,
    /// Whether it can be left out.
    pub need: Need,
    /// Whether several are given, with blanks between them: `30 28 31`.
    pub many: bool,
}

impl Input {
    /// Returns an input that must be given, once.
    pub(crate) const fn required(name: &'static str, takes: Takes, help: &'static str) -> Self {
        Self { name, help, takes, need: Need::Required, many: false }
    }

    /// Returns an input that may be left out.
    pub(crate) const fn optional(name: &'static str, takes: Takes, help: &'static str) -> Self {
        Self { name, help, takes, need: Need::Optional, many: false }
    }

    /// Returns an input that has a usual value.
    pub(crate) const fn usual(name: &'static str, takes: Takes, usual: &'static str, help: &'static str) -> Self {
        Self { name, help, takes, need: Need::Usual(usual), many: false }
    }

    /// Returns the same input, given several times in one text.
    #[must_use]
    pub(crate) const fn many(mut self) -> Self {
        self.many = true;
        self
    }
}

/// What an input is read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// A quantity in any unit of its dimension; the UCUM code is the unit of a bare number, and of what is reckoned with.
    Quantity(&'static str),
    /// A yield of corn: bushels to the acre, which a bare number means, or a mass per area at standard moisture, which is turned
    /// into bushels of 56 lb.
    CornYield,
    /// A bare number in a unit that has no UCUM code: money, bushels. The text is the unit, for people.
    Number(&'static str),
    /// One of these words.
    Word(&'static [&'static str]),
    /// A text that the formula reads: a growth stage.
    Text,
    /// A calendar day, `2026-05-28`.
    Day,
}

/// Whether an input can be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must be given.
    Required,
    /// It can be left out.
    Optional,
    /// Left out, it is read as this text.
    Usual(&'static str),
}

/// The inputs of one working, read.
#[derive(Debug, Default)]
pub struct Given {
    numbers: BTreeMap<&'static str, Vec<f64>>,
    texts: BTreeMap<&'static str, Vec<String>>,
    days: BTreeMap<&'static str, Date>,
}

impl Given {
    /// Returns the number of an input that is required or has a usual value, in the unit that the input names.
    pub(crate) fn number(&self, name: &str) -> f64 {
        self.maybe(name).expect("required inputs are checked before a worksheet works")
    }

    /// Returns the number of an input, if it was given.
    pub(crate) fn maybe(&self, name: &str) -> Option<f64> {
        self.numbers(name).first().copied()
    }

    /// Returns the numbers of an input; none if it was left out.
    pub(crate) fn numbers(&self, name: &str) -> &[f64] {
        self.numbers.get(name).map_or(&[], Vec::as_slice)
    }

    /// Returns an input declared in inches as a length.
    pub(crate) fn inches(&self, name: &str) -> Length {
        Length::from_inches(self.number(name))
    }

    /// Returns an input declared in plants per acre as a density.
    pub(crate) fn per_acre(&self, name: &str) -> PlantDensity {
        PlantDensity::from_per_acre(self.number(name))
    }

    /// Returns an input declared in °F as a temperature.
    pub(crate) fn fahrenheit(&self, name: &str) -> Temperature {
        Temperature::from_fahrenheit(self.number(name))
    }

    /// Returns an input declared in Fahrenheit degree days as a sum.
    pub(crate) fn fahrenheit_days(&self, name: &str) -> DegreeDays {
        DegreeDays::from_fahrenheit(self.number(name))
    }

    /// Returns the text of an input that is required or has a usual value.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.maybe_text(name).expect("required inputs are checked before a worksheet works")
    }

    /// Returns the text of an input, if it was given.
    pub(crate) fn maybe_text(&self, name: &str) -> Option<&str> {
        self.texts(name).first().map(String::as_str)
    }

    /// Returns the texts of an input; none if it was left out.
    pub(crate) fn texts(&self, name: &str) -> &[String] {
        self.texts.get(name).map_or(&[], Vec::as_slice)
    }

    /// Returns the day of an input, if it was given.
    pub(crate) fn day(&self, name: &str) -> Option<Date> {
        self.days.get(name).copied()
    }
}

/// What a worksheet answers.
#[derive(Debug, Default, PartialEq)]
pub struct Answer {
    /// The working, a line a step: `522.72 / 30 = 17.424 ft`.
    pub steps: Vec<String>,
    /// The results, the one asked for first.
    pub results: Vec<Outcome>,
    /// What the reader must know beside the number: how sure it is, where it does not hold, cautions.
    pub remarks: Vec<String>,
}

impl Answer {
    /// Adds a line of working.
    #[must_use]
    pub(crate) fn step(mut self, line: impl Into<String>) -> Self {
        self.steps.push(line.into());
        self
    }

    /// Adds a result that is a number, shown with so many decimals.
    #[must_use]
    pub(crate) fn number(mut self, name: &'static str, number: f64, decimals: u8, unit: &'static str) -> Self {
        self.results.push(Outcome { name, value: Value::Number(number), decimals, unit, grain: None });
        self
    }

    /// Adds a result that is a range.
    #[must_use]
    pub(crate) fn range(mut self, name: &'static str, ends: (f64, f64), decimals: u8, unit: &'static str) -> Self {
        self.results.push(Outcome { name, value: Value::Range(ends.0, ends.1), decimals, unit, grain: None });
        self
    }

    /// Says of which grain the last result is a yield, so that it can be told as a mass.
    #[must_use]
    pub(crate) fn of(mut self, grain: Grain) -> Self {
        if let Some(last) = self.results.last_mut() {
            last.grain = Some(grain);
        }
        self
    }

    /// Adds a result in words.
    #[must_use]
    pub(crate) fn words(mut self, name: &'static str, words: impl Into<String>) -> Self {
        self.results.push(Outcome { name, value: Value::Text(words.into()), decimals: 0, unit: "", grain: None });
        self
    }

    /// Adds what the reader must know.
    #[must_use]
    pub(crate) fn remark(mut self, remark: impl Into<String>) -> Self {
        self.remarks.push(remark.into());
        self
    }
}

/// One result.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What it is: `length of row`.
    pub name: &'static str,
    /// The result, unrounded.
    pub value: Value,
    /// How many decimals people are shown.
    pub decimals: u8,
    /// Its unit, as people read it; empty for pure numbers and words.
    pub unit: &'static str,
    /// The grain of which it is a yield at standard moisture, where that is known.
    pub grain: Option<Grain>,
}

/// A result, unrounded.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// One number.
    Number(f64),
    /// From one number to another, where sources or chance leave a range.
    Range(f64, f64),
    /// Words.
    Text(String),
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let decimals = usize::from(self.decimals);
        match &self.value {
            Value::Number(number) => f.write_str(&with_marks(*number, decimals))?,
            Value::Range(low, high) => {
                let (low, high) = (with_marks(*low, decimals), with_marks(*high, decimals));
                // Sources that agree to the last digit shown leave no range to read.
                if low == high { f.write_str(&low)? } else { write!(f, "{low} to {high}")? }
            }
            Value::Text(words) => f.write_str(words)?,
        }
        if !self.unit.is_empty() {
            write!(f, "{}{}", if self.unit == "°" { "" } else { " " }, self.unit)?;
        }
        Ok(())
    }
}

/// Returns the number rounded, with a comma before each three digits of its whole part.
pub(crate) fn with_marks(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let (sign, rest) = text.strip_prefix('-').map_or(("", text.as_str()), |rest| ("-", rest));
    let (whole, fraction) = rest.split_once('.').unwrap_or((rest, ""));
    if !whole.bytes().all(|b| b.is_ascii_digit()) {
        return text;
    }
    let nothing = rest.bytes().all(|b| matches!(b, b'0' | b'.'));
    let mut marked = String::from(if nothing { "" } else { sign });
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            marked.push(',');
        }
        marked.push(digit);
    }
    if !fraction.is_empty() {
        marked.push('.');
        marked.push_str(fraction);
    }
    marked
}

impl Worksheet {
    /// Reads the inputs as typed and works the sheet.
    ///
    /// `typed` are names and texts; a name that is not there takes its usual value. *Errors:* [`Error::NotAsked`] for a
    /// name that is no input; [`Error::Missing`]; [`Error::Quantity`], [`Error::NoNumber`], [`Error::NoDay`] and
    /// [`Error::UnknownWord`] for texts that cannot be read; those of the formula.
    ///
    /// ```
    /// let sheets = ligule_agronomy::catalogue::worksheets();
    /// let sheet = sheets.iter().find(|sheet| sheet.name == "row-length").expect("listed");
    /// let answer = sheet.work(&[("row", "30in")])?;
    /// assert_eq!(answer.results[0].to_string(), "17.42 ft");
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn work(&self, typed: &[(&str, &str)]) -> Result<Answer, Error> {
        if let Some((name, _)) = typed.iter().find(|(name, _)| self.inputs.iter().all(|input| input.name != *name)) {
            let inputs = self.inputs.iter().map(|input| input.name).collect::<Vec<_>>().join(", ");
            return Err(Error::NotAsked { came: (*name).to_owned(), expected: inputs });
        }
        let mut given = Given::default();
        for input in self.inputs {
            let typed = typed.iter().find(|(name, _)| *name == input.name).map(|(_, text)| *text);
            match (typed, input.need) {
                (Some(text), _) | (None, Need::Usual(text)) => input.read(text, &mut given)?,
                (None, Need::Optional) => {}
                (None, Need::Required) => return Err(Error::Missing { input: input.name, help: input.help }),
            }
        }
        (self.work)(&given)
    }
}

impl Input {
    /// Reads a yield of corn in bushels to the acre.
    fn corn_yield(&self, text: &str) -> Result<f64, Error> {
        let read = |code: &str| {
            let unit = Unit::by_ucum(code).expect("in the table of units");
            parse(text, unit).and_then(|quantity| quantity.to(unit)).map(|quantity| quantity.to_f64())
        };
        match read("[bu_us]/[acr_us]") {
            Ok(bushels) => Ok(bushels),
            // A bare number is in bushels, so that this one has a unit.
            Err(reason) => match read("kg/har") {
                Ok(kilograms) => Ok(kilograms / kilograms_per_hectare(Grain::Corn, 1.0)?),
                Err(_) => Err(Error::Quantity { input: self.name, reason }),
            },
        }
    }

    fn read(&self, text: &str, given: &mut Given) -> Result<(), Error> {
        let texts: Vec<&str> = if self.many { text.split_whitespace().collect() } else { vec![text.trim()] };
        if texts.iter().all(|text| text.is_empty()) {
            return Err(Error::Missing { input: self.name, help: self.help });
        }
        match self.takes {
            Takes::Quantity(code) => {
                let unit = Unit::by_ucum(code).expect("a test holds every code to the table of units");
                let quantity = |text: &&str| {
                    // Half a per cent, or a half? Only the person knows.
                    if code == "%" && text.parse().is_ok_and(|share: f64| share.abs() > 0.0 && share.abs() < 1.0) {
                        return Err(Error::ShareOrPercent { input: self.name, came: (*text).to_owned() });
                    }
                    let read = parse(text, unit).and_then(|quantity| quantity.to(unit));
                    read.map(|q| q.to_f64()).map_err(|reason| Error::Quantity { input: self.name, reason })
                };
                given.numbers.insert(self.name, texts.iter().map(quantity).collect::<Result<_, _>>()?);
            }
            Takes::CornYield => {
                given
                    .numbers
                    .insert(self.name, texts.iter().map(|text| self.corn_yield(text)).collect::<Result<_, _>>()?);
            }
            Takes::Number(unit) => {
                let number = |text: &&str| {
                    let read = text.trim_start_matches('$').parse::<f64>().ok().filter(|number| number.is_finite());
                    read.ok_or_else(|| Error::NoNumber { input: self.name, unit, came: (*text).to_owned() })
                };
                given.numbers.insert(self.name, texts.iter().map(number).collect::<Result<_, _>>()?);
            }
            Takes::Word(words) => {
                for text in &texts {
                    if !words.contains(text) {
                        let (input, expected) = (self.name, words.join(", "));
                        return Err(Error::UnknownWord { input, expected, came: (*text).to_owned() });
                    }
                }
                given.texts.insert(self.name, texts.iter().map(|text| (*text).to_owned()).collect());
            }
            Takes::Text => {
                given.texts.insert(self.name, texts.iter().map(|text| (*text).to_owned()).collect());
            }
            Takes::Day => {
                let day = text.trim().parse().map_err(|_| Error::NoDay { input: self.name, came: text.to_owned() })?;
                given.days.insert(self.name, day);
            }
        }
        Ok(())
    }
}
