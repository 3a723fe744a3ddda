//! Golden cases: situations and the findings that must come of them, kept in the pack as `cases/*.toml`.

use std::collections::BTreeMap;

use jiff::civil::Date;
use ligule_advice::{
    Feature, Finding, Severity, WindowState,
    columns::{Cell, Derived, Observations, Row},
};

use serde::Deserialize;

use crate::{Coverage, LoadedPack, NeedResult, Pack, RuleError, SeasonContext};

/// How far the work of a case may differ from what the case says, in parts of it.
const FUEL_TOLERANCE: f64 = 0.10;

/// What the golden cases of a pack gave.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseReport {
    /// The pack.
    pub pack: String,
    /// One entry a case, in the order of their files.
    pub cases: Vec<CaseResult>,
}

/// What one case gave.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseResult {
    /// The case's file.
    pub file: String,
    /// What it shows.
    pub about: String,
    /// What differs from what was expected; empty where the case holds.
    pub problems: Vec<String>,
    /// Work done on a new instance, in wasmtime's units of fuel.
    pub fuel: u64,
    /// What was found.
    pub findings: Vec<Finding>,
}

impl CaseReport {
    /// Tells whether there are cases and all of them hold.
    pub fn holds(&self) -> bool {
        !self.cases.is_empty() && self.cases.iter().all(|c| c.problems.is_empty())
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Case {
    about: String,
    /// Who vouches for the expected numbers.
    source: String,
    #[serde(default)]
    fuel: Option<u64>,
    season: CaseSeason,
    #[serde(default, rename = "observation")]
    observations: Vec<CaseObservation>,
    #[serde(default)]
    derived: BTreeMap<String, BTreeMap<String, f64>>,
    #[serde(default, rename = "finding")]
    findings: Vec<Expected>,
    /// What must not be found.
    #[serde(default, rename = "absent")]
    absent: Vec<Expected>,
    /// Whether there may be findings besides those that are listed.
    #[serde(default)]
    others: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct CaseSeason {
    region: String,
    crop: String,
    as_of: Date,
    #[serde(default)]
    settings: BTreeMap<String, String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct CaseObservation {
    #[serde(default = "only_field")]
    field: String,
    kind: String,
    day: Date,
    values: BTreeMap<String, toml::Value>,
    #[serde(default)]
    conflicts: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Expected {
    #[serde(default = "only_field")]
    field: String,
    #[serde(default)]
    code: Option<String>,
    #[serde(default)]
    severity: Option<Severity>,
    #[serde(default)]
    window: Option<WindowState>,
    /// Texts that the headline holds.
    #[serde(default)]
    headline: Vec<String>,
    /// Texts that the reasons or cautions hold.
    #[serde(default)]
    says: Vec<String>,
    /// A reason with this observed number (to 0.005).
    #[serde(default)]
    observed: Option<f64>,
    /// A reason with this limit (to 0.005).
    #[serde(default)]
    limit: Option<f64>,
}

fn only_field() -> String {
    "field".to_owned()
}

/// Runs the golden cases of a pack, counting work.
///
/// Each case is run on a new instance, on a used one, and with the fields in reverse order; the three have to agree.
pub fn check(loaded: &LoadedPack) -> Result<CaseReport, RuleError> {
    let metered = loaded.metered()?;
    let pack = loaded.pack();
    let mut cases = Vec::new();
    for (name, bytes) in pack.folder("cases", ".toml") {
        let file = format!("cases/{name}.toml");
        let text = std::str::from_utf8(bytes).map_err(|e| pack.damaged(&file, e))?;
        let case: Case = toml::from_str(text).map_err(|e| pack.damaged(&file, e.to_string().trim_end()))?;
        if case.source.trim().is_empty() {
            return Err(pack.damaged(&file, "`source` should say who vouches for the expected numbers"));
        }
        let obs = case.observations(pack).map_err(|problem| pack.damaged(&file, problem))?;
        cases.push(case.run(&metered, &obs, file)?);
    }
    Ok(CaseReport { pack: pack.name(), cases })
}

impl Case {
    fn fields(&self) -> Vec<String> {
        let mut fields: Vec<String> = self.observations.iter().map(|o| o.field.clone()).collect();
        fields.extend(self.derived.values().flat_map(|by_field| by_field.keys().cloned()));
        fields.sort();
        fields.dedup();
        if fields.is_empty() { vec![only_field()] } else { fields }
    }

    fn observations(&self, pack: &Pack) -> Result<Observations, String> {
        let fields = self.fields();
        let mut rows = Vec::new();
        for (i, observation) in self.observations.iter().enumerate() {
            for (name, value) in &observation.values {
                let measure = format!("{}/{name}", observation.kind);
                let need = pack.manifest().needs.iter().find(|n| n.measure == measure);
                let need = need.ok_or_else(|| format!("`{measure}` is no [[need]] of pack.toml"))?;
                let elements = value.as_array().cloned().unwrap_or_else(|| vec![value.clone()]);
                for element in elements {
                    rows.push(Row {
                        group: fields.iter().position(|f| *f == observation.field).unwrap_or(0) as u32,
                        day: observation.day,
                        observation: format!("case-{i:02}"),
                        measure: measure.clone(),
                        unit: need.unit.clone(),
                        cell: cell(&element, need.result)
                            .ok_or_else(|| format!("`{measure}` should be a {:?}, got {element}", need.result))?,
                        conflicted: observation.conflicts.contains(name),
                    });
                }
            }
        }
        let features =
            fields.iter().map(|f| (Feature::Field(f.clone()), i32::from(self.season.as_of.year()))).collect();
        let mut obs = Observations::from_rows(features, rows).map_err(|e| e.to_string())?;
        for (name, by_field) in &self.derived {
            let need = pack.manifest().derived.iter().find(|d| d.name == *name);
            let need = need.ok_or_else(|| format!("`{name}` is no [[derived]] of pack.toml"))?;
            let values = fields.iter().map(|f| by_field.get(f).copied()).collect();
            obs = obs
                .with_derived(Derived { name: name.clone(), unit: need.unit.clone(), values })
                .map_err(|e| e.to_string())?;
        }
        Ok(obs)
    }

    fn run(&self, loaded: &LoadedPack, obs: &Observations, file: String) -> Result<CaseResult, RuleError> {
        let context = SeasonContext {
            year: self.season.as_of.year().into(),
            region: self.season.region.clone(),
            crop: self.season.crop.clone(),
            as_of: self.season.as_of,
            settings: self.season.settings.clone(),
        };
        let (found, fuel) = loaded.evaluate_metered(&context, obs)?;
        let mut problems = self.compare(&found);
        match loaded.pack().manifest().covers(&context.region, &context.crop, context.as_of) {
            Coverage::Covered | Coverage::ReviewDue(_) => {}
            outside => problems.push(format!(
                "pack.toml does not cover {}, {} on {} ({outside:?}), so that nobody ever gets this answer",
                context.region, context.crop, context.as_of
            )),
        }
        if loaded.evaluate_by_feature(&context, obs)? != found {
            problems.push(
                "a used instance answers otherwise than a new one: the rule keeps something between questions"
                    .to_owned(),
            );
        }
        let backwards: Vec<usize> = (0..obs.features().len()).rev().collect();
        let mut turned = loaded.evaluate_by_feature(&context, &obs.select(&backwards, None))?;
        turned.reverse();
        if turned != found {
            problems.push("the answer changes with the order of the fields: the rule mixes fields".to_owned());
        }
        if let Some(expected) = self.fuel
            && (fuel as f64 - expected as f64).abs() > expected as f64 * FUEL_TOLERANCE
        {
            problems.push(format!(
                "it took {fuel} units of work, more than 10 % away from the {expected} that the case says"
            ));
        }
        let findings = found.into_iter().flatten().collect();
        Ok(CaseResult { file, about: self.about.clone(), problems, fuel, findings })
    }

    fn compare(&self, found: &[Vec<Finding>]) -> Vec<String> {
        let fields = self.fields();
        let mut problems = Vec::new();
        let mut left: Vec<(usize, &Finding)> =
            found.iter().enumerate().flat_map(|(field, list)| list.iter().map(move |f| (field, f))).collect();
        let is = |expected: &Expected, (field, finding): &(usize, &Finding)| {
            fields.get(*field).is_some_and(|f| *f == expected.field) && expected.matches(finding)
        };
        for absent in &self.absent {
            if let Some((_, finding)) = left.iter().find(|f| is(absent, f)) {
                problems.push(format!("found, and must not be: {} `{}`", finding.code, finding.headline));
            }
        }
        for expected in &self.findings {
            match left.iter().position(|f| is(expected, f)) {
                Some(i) => {
                    left.remove(i);
                }
                None => problems.push(format!("not found: {expected:?}; what is there: {}", headlines(&left))),
            }
        }
        if !self.others && !left.is_empty() {
            problems.push(format!("found, and not listed: {}", headlines(&left)));
        }
        problems
    }
}

impl Expected {
    fn matches(&self, finding: &Finding) -> bool {
        let near = |wanted: Option<f64>, of: fn(&ligule_advice::Reason) -> Option<f64>| {
            wanted.is_none_or(|w| finding.because.iter().filter_map(of).any(|v| (v - w).abs() <= 0.005))
        };
        let text = finding.because.iter().map(|r| r.text.as_str()).chain(finding.cautions.iter().map(String::as_str));
        let text = text.collect::<Vec<_>>().join("\n");
        self.code.as_ref().is_none_or(|code| *code == finding.code)
            && self.severity.is_none_or(|severity| severity == finding.severity)
            && self.window.is_none_or(|state| finding.window.is_some_and(|w| w.state == state))
            && self.headline.iter().all(|part| finding.headline.contains(part))
            && self.says.iter().all(|part| text.contains(part))
            && near(self.observed, |r| r.observed)
            && near(self.limit, |r| r.limit)
    }
}

fn headlines(left: &[(usize, &Finding)]) -> String {
    let lines: Vec<String> =
        left.iter().map(|(_, f)| format!("[{} {:?}] {}", f.code, f.severity, f.headline)).collect();
    if lines.is_empty() { "nothing".to_owned() } else { lines.join(" | ") }
}

fn cell(value: &toml::Value, result: NeedResult) -> Option<Cell> {
    match (result, value) {
        (NeedResult::Number, toml::Value::Integer(n)) => Some(Cell::Number(*n as f64)),
        (NeedResult::Number, toml::Value::Float(x)) => Some(Cell::Number(*x)),
        (NeedResult::Text, toml::Value::String(text)) => Some(Cell::Text(text.clone())),
        (NeedResult::Stage, toml::Value::String(text)) => Some(Cell::Stage(text.clone())),
        _ => None,
    }
}
