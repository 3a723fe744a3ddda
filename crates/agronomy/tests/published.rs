//! Holds the formulas to published numbers: every row of every file in `published/`, one file for each publication.
//!
//! A row names a check below, its inputs and what the publication prints. Numbers are compared unrounded, with a
//! tolerance of one unit of the last digit printed unless the row says why not; stages and counts must be equal. A row with
//! `disagrees` is a printed number that is known to be wrong: the test holds us to differing from it, so that the
//! disagreement stays on record.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use ligule_agronomy::degree_days::{
    LeafPrediction, LeafRate, Method, Model, Seedbed, Texture, accumulate, delayed_planting_maturity, emergence_need,
    predict_leaf_stage,
};
use ligule_agronomy::stage::{bbch, soybean_bbch};
use ligule_agronomy::{depth, spacing, stand, statistics};
use ligule_units::{DegreeDays, Length, PlantDensity, Temperature, Unit, parse};
use serde::Deserialize;
use toml::Value;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Source {
    publication: Publication,
    row: Vec<Row>,
}

/// Where the numbers come from; each field must be there, or the file is refused.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Publication {
    title: String,
    author: String,
    year: Option<u16>,
    table: String,
    url: Option<String>,
    transcribed_by: String,
    transcribed_on: String,
    confidence: Confidence,
}

/// `page`: read on a page; `derived`: reckoned by hand from what a page or a definition says; `memory`: recalled.
#[derive(Deserialize, Debug)]
#[serde(rename_all = "lowercase")]
enum Confidence {
    Page,
    Derived,
    Memory,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    check: String,
    inputs: BTreeMap<String, Value>,
    expected: Value,
    tolerance: Option<f64>,
    relative: Option<f64>,
    note: Option<String>,
    disagrees: Option<String>,
}

/// What the library says: a number, or a text such as a stage.
#[derive(Debug, PartialEq)]
enum Answer {
    Number(f64),
    Text(String),
}

impl Row {
    fn number(&self, name: &str) -> f64 {
        as_f64(self.inputs.get(name).unwrap_or_else(|| panic!("`{}` has no input `{name}`", self.name)))
    }

    fn text(&self, name: &str) -> &str {
        self.inputs.get(name).and_then(Value::as_str).unwrap_or_else(|| panic!("`{}` has no text `{name}`", self.name))
    }

    fn whole(&self, name: &str) -> u64 {
        self.inputs.get(name).and_then(Value::as_integer).and_then(|n| u64::try_from(n).ok()).expect("a whole number")
    }

    fn inches(&self, name: &str) -> Length {
        Length::from_inches(self.number(name))
    }

    fn per_acre(&self, name: &str) -> PlantDensity {
        PlantDensity::from_per_acre(self.number(name))
    }

    fn fahrenheit_days(&self, name: &str) -> DegreeDays {
        DegreeDays::from_fahrenheit(self.number(name))
    }

    fn degree_days(&self, scale: fn(f64) -> Temperature) -> DegreeDays {
        let method: Method = self.text("method").parse().expect("a method");
        let upper = self.inputs.get("upper").map(|v| scale(as_f64(v)));
        let model = Model::new(method, scale(self.number("base")), upper).expect("valid thresholds");
        let days = self.inputs["days"].as_array().expect("a list of days").iter().map(|day| {
            let day = day.as_array().expect("maximum and minimum");
            (Some(scale(as_f64(&day[0]))), Some(scale(as_f64(&day[1]))))
        });
        accumulate(days, &model).expect("valid days").sum
    }

    fn leaf(&self) -> LeafPrediction {
        let rate = match self.text("rate") {
            "purdue" => LeafRate::Purdue,
            "iowa" => LeafRate::Iowa,
            other => panic!("unknown rate `{other}`"),
        };
        predict_leaf_stage(self.fahrenheit_days("since_planting"), self.fahrenheit_days("emergence"), rate, 20)
            .expect("valid sums")
    }

    fn stand(&self) -> stand::StandEstimate {
        let counts: Vec<_> = self.inputs["counts"]
            .as_array()
            .expect("counts")
            .iter()
            .map(|n| PlantDensity::from_per_acre(as_f64(n)))
            .collect();
        stand::stand_estimate(&counts, self.number("level")).expect("valid counts")
    }

    /// Asks the library.
    fn answer(&self) -> Answer {
        use Answer::{Number, Text};
        let row_length = || stand::row_length(self.inches("row_in"), 0.001).expect("a valid row");
        let in_row = || {
            let length = Length::from_feet(self.number("length_ft"));
            stand::plants_per_area(self.number("plants"), self.inches("row_in"), length).expect("a valid count")
        };
        let hoop = || stand::hoop_density(self.number("plants"), self.inches("diameter_in")).expect("a valid hoop");
        let gap = || spacing::plant_spacing(self.inches("row_in"), self.per_acre("per_acre")).expect("a valid row");
        let wilson =
            || statistics::wilson_interval(self.whole("found"), self.whole("trials"), 0.95).expect("valid counts");
        let at_two = "eight counts have a spread";
        match self.check.as_str() {
            "row length, ft" => Number(row_length().feet()),
            "row length, in" => Number(row_length().inches()),
            "row length, m" => Number(row_length().metres()),
            "row length of hectare, m" => {
                let row = Length::from_metres(self.number("row_m"));
                Number(stand::row_length_of_hectare(row, 0.001).expect("a valid row").metres())
            }
            "per hectare" => Number(self.per_acre("per_acre").per_hectare()),
            "per acre" => Number(PlantDensity::from_per_hectare(self.number("per_hectare")).per_acre()),
            "plants per acre" => Number(in_row().per_acre()),
            "plants per hectare" => Number(in_row().per_hectare()),
            "hoop plants per acre" => Number(hoop().per_acre()),
            "hoop plants per hectare" => Number(hoop().per_hectare()),
            "spacing, in" => Number(gap().inches()),
            "gap limit, in" => {
                let limits = spacing::gap_limits(gap()).expect("a valid spacing");
                Number(match self.text("limit") {
                    "double" => limits.double.inches(),
                    "one skip" => limits.one_skip.inches(),
                    "two skips" => limits.two_skips.inches(),
                    other => panic!("unknown limit `{other}`"),
                })
            }
            "t" => {
                let freedom = usize::try_from(self.whole("df")).expect("fits");
                Number(statistics::t_two_sided(self.number("level"), freedom).expect("a valid level"))
            }
            "counts needed" => {
                let n = stand::counts_needed(self.number("cv"), self.number("half_width"), self.number("level"));
                Number(n.expect("within reach") as f64)
            }
            "stand mean" => Number(self.stand().mean.per_acre()),
            "stand sd" => Number(self.stand().sd.expect(at_two).per_acre()),
            "stand cv, %" => Number(self.stand().cv.expect(at_two) * 100.0),
            "stand half-width" => Number(self.stand().half_width.expect(at_two).per_acre()),
            "stand low" => Number(self.stand().interval.expect(at_two).0.per_acre()),
            "stand high" => Number(self.stand().interval.expect(at_two).1.per_acre()),
            "seeding rate" => {
                let (germination, survival) = (self.number("germination"), self.number("survival"));
                let rate = stand::seeding_rate_for(self.per_acre("per_acre"), germination, survival);
                Number(rate.expect("valid shares").per_acre())
            }
            "degree days, F" => Number(self.degree_days(Temperature::from_fahrenheit).fahrenheit()),
            "degree days, C" => Number(self.degree_days(Temperature::from_celsius).celsius()),
            "degree days, C to F" => Number(self.degree_days(Temperature::from_celsius).fahrenheit()),
            "degree days from tenths of C, F" => {
                let tenths = |name| Temperature::from_celsius(self.number(name) / 10.0);
                Number(Model::corn().day(tenths("tmax"), tenths("tmin")).expect("a valid day").fahrenheit())
            }
            "leaf stage" => Text(match self.leaf() {
                LeafPrediction::NotEmerged { .. } => "not emerged".to_owned(),
                LeafPrediction::Emerged { stage, .. } => stage.to_string(),
            }),
            "leaf collars" => match self.leaf() {
                LeafPrediction::NotEmerged { .. } => Text("not emerged".to_owned()),
                LeafPrediction::Emerged { collars, .. } => Number(collars),
            },
            "maturity after delay" => {
                let days = u32::try_from(self.whole("days")).expect("fits");
                Number(delayed_planting_maturity(self.fahrenheit_days("rated"), days).expect("valid").fahrenheit())
            }
            "emergence midpoint" => {
                let texture = match self.text("texture") {
                    "fine" => Texture::Fine,
                    "medium" => Texture::Medium,
                    "coarse" => Texture::Coarse,
                    other => panic!("unknown texture `{other}`"),
                };
                let dry = self.inputs["dry"].as_bool().expect("true or false");
                let seedbed = Seedbed { depth: self.inches("depth_in"), texture, dry, residue: self.number("residue") };
                Number(emergence_need(&seedbed).expect("a valid seedbed").midpoint().fahrenheit())
            }
            "seed depth, in" => {
                Number(depth::seed_depth(self.inches("seed_to_crown_in")).expect("a valid length").inches())
            }
            "bbch" => Text(bbch(self.text("stage").parse().expect("a stage")).to_string()),
            "soybean bbch" => Text(soybean_bbch(self.text("stage").parse().expect("a stage")).to_string()),
            "wilson low, %" => Number(wilson().0 * 100.0),
            "wilson high, %" => Number(wilson().1 * 100.0),
            other => panic!("`{}` asks for an unknown check `{other}`", self.name),
        }
    }

    /// Returns what the publication prints; a text with a length in it counts in inches.
    fn printed(&self) -> Answer {
        match &self.expected {
            Value::String(text) if self.tolerance.is_some() => {
                let inch = Unit::by_ucum("[in_i]").expect("in the table");
                let length = parse(text, inch).and_then(|q| q.to(inch)).expect("a length");
                Answer::Number(length.to_f64())
            }
            Value::String(text) => Answer::Text(text.clone()),
            number => Answer::Number(as_f64(number)),
        }
    }

    /// Returns whether our answer is the printed one within the row's tolerance.
    fn agrees(&self) -> bool {
        match (self.answer(), self.printed()) {
            (Answer::Text(ours), Answer::Text(printed)) => ours == printed,
            (Answer::Number(ours), Answer::Number(printed)) => {
                let tolerance = match (self.tolerance, self.relative) {
                    (Some(absolute), None) => absolute,
                    (None, Some(relative)) => relative * printed.abs(),
                    _ => panic!("`{}` needs one of `tolerance` and `relative`", self.name),
                };
                // The printed number is itself a rounded binary: leave room for that, and for nothing more.
                (ours - printed).abs() <= tolerance + 1e-9 * printed.abs().max(1.0)
            }
            _ => false,
        }
    }
}

fn as_f64(value: &Value) -> f64 {
    match value {
        Value::Float(number) => *number,
        Value::Integer(number) => *number as f64,
        other => panic!("expected a number, got `{other}`"),
    }
}

fn sources() -> Vec<(String, Source)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published");
    let mut found: Vec<_> = fs::read_dir(&folder)
        .expect("the folder of published numbers")
        .map(|entry| entry.expect("a readable folder").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| {
            let name = path.file_name().expect("a file").to_string_lossy().into_owned();
            let text = fs::read_to_string(&path).expect("a readable file");
            let source = toml::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
            (name, source)
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

#[test]
fn every_published_number_is_met() {
    let (mut rows, mut disagreements, mut failures) = (0, 0, Vec::new());
    for (file, source) in sources() {
        for row in &source.row {
            rows += 1;
            disagreements += usize::from(row.disagrees.is_some());
            if row.agrees() == row.disagrees.is_some() {
                failures.push(format!(
                    "{file}: {}: ours {:?}, {} {:?} {}",
                    row.name,
                    row.answer(),
                    if row.disagrees.is_some() { "which should differ from" } else { "printed" },
                    row.printed(),
                    row.note.as_deref().unwrap_or_default(),
                ));
            }
        }
    }
    assert!(failures.is_empty(), "{} of {rows} rows failed:\n{}", failures.len(), failures.join("\n"));
    assert!(rows >= 250, "expected the tables transcribed so far, found only {rows} rows");
    println!("{rows} published rows, {disagreements} marked disagreements");
}

#[test]
fn every_source_says_where_it_comes_from() {
    for (file, Source { publication, row }) in sources() {
        for (what, text) in [
            ("title", &publication.title),
            ("author", &publication.author),
            ("table", &publication.table),
            ("transcribed_by", &publication.transcribed_by),
            ("transcribed_on", &publication.transcribed_on),
        ] {
            assert!(!text.trim().is_empty(), "{file}: `{what}` is empty");
        }
        assert!(!row.is_empty(), "{file} has no rows");
        assert!(publication.year.is_none_or(|y| (1900..=2026).contains(&y)), "{file}: no such year");
        assert!(publication.url.is_none_or(|u| u.starts_with("http")), "{file}: `url` is no address");
        // What is recalled says so in its table, where a reader looks.
        if matches!(publication.confidence, Confidence::Memory) {
            assert!(publication.table.contains("to be verified"), "{file} is from memory and does not say so");
        }
    }
}
