//! Regional advice: the rule packs, run on a season's records.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use ligule_advice::Finding;
use ligule_advice::columns::Observations;
use ligule_observation::kind::Kind;
use ligule_observation::record::Record;
use ligule_rules::{Coverage, Host, HostOptions, LoadedPack, Pack, RuleError, SeasonContext, Trust};
use serde::Serialize;

use crate::error::{EngineError, Fault, Result, known};
use crate::reentry::Reentry;

/// What the packs say of a season.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Advice {
    /// One entry a field.
    pub fields: Vec<FieldAdvice>,
    /// Packs that failed, and how. Nothing follows from their silence.
    pub not_evaluated: Vec<String>,
}

/// What the packs say of one field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FieldAdvice {
    /// The field's name.
    pub field: String,
    /// Its region.
    pub region: String,
    /// Its crop.
    pub crop: String,
    /// The day for which this is said.
    pub as_of: Date,
    /// What keeps people out of the field, or may.
    pub reentry: Option<Reentry>,
    /// The findings, the most urgent first.
    pub findings: Vec<Finding>,
}

/// A field that is to be advised on.
#[derive(Debug, Clone)]
pub struct Question {
    /// The field's name.
    pub field: String,
    /// Its region.
    pub region: String,
    /// Its crop.
    pub crop: String,
    /// The season.
    pub season: i32,
    /// "Today".
    pub as_of: Date,
    /// The season's records of the field.
    pub records: Vec<Record>,
    /// Particulars of the question, by the keys that a pack's manifest lists: `mix`, `placement`.
    pub settings: BTreeMap<String, String>,
}

/// Runs every pack on every field that it covers.
pub fn advise(packs: &Packs, questions: &[Question], kinds: &[Kind], cache: Option<PathBuf>) -> Result<Advice> {
    let host = host(cache)?;
    let mut advice = Advice { not_evaluated: packs.failures.clone(), ..Advice::default() };
    let loaded: Vec<LoadedPack> = packs
        .sound
        .iter()
        .filter_map(|pack| host.load(pack).map_err(|error| advice.not_evaluated.push(words(&error))).ok())
        .collect();
    let known_keys: Vec<String> =
        loaded.iter().flat_map(|pack| &pack.pack().manifest().settings).map(|setting| setting.key.clone()).collect();
    for question in questions {
        if let Some(key) = question.settings.keys().find(|key| !known_keys.contains(key)) {
            return Err(EngineError::user(
                format!("no pack has a setting `{key}`"),
                known("settings", key, known_keys),
            ));
        }
        let mut findings = Vec::new();
        let observations = Observations::from_records(&question.records, kinds).map_err(|error| {
            EngineError::new(
                Fault::Data,
                format!("records of {}: {error}", question.field),
                "correct the observation with `ligule amend`",
            )
        })?;
        for pack in &loaded {
            let manifest = pack.pack().manifest();
            let context = SeasonContext {
                year: question.season,
                region: question.region.clone(),
                crop: question.crop.clone(),
                as_of: question.as_of,
                settings: question
                    .settings
                    .iter()
                    .filter(|(key, _)| manifest.settings.iter().any(|known| known.key == **key))
                    .map(|(key, value)| (key.clone(), value.clone()))
                    .collect(),
            };
            let due = match manifest.covers(&question.region, &question.crop, question.as_of) {
                Coverage::Covered => None,
                Coverage::ReviewDue(day) => Some(day),
                _ => continue,
            };
            match pack.evaluate(&context, &observations) {
                Ok(mut found) => {
                    if let Some(day) = due {
                        for finding in &mut found {
                            finding.cautions.push(format!(
                                "The pack {} was to be reviewed by {day}; its numbers may be out of date.",
                                pack.pack().name()
                            ));
                        }
                    }
                    findings.append(&mut found);
                }
                Err(error) => advice.not_evaluated.push(format!(
                    "{} on {}: {}",
                    pack.pack().name(),
                    question.field,
                    words(&error)
                )),
            }
        }
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        advice.fields.push(FieldAdvice {
            field: question.field.clone(),
            region: question.region.clone(),
            crop: question.crop.clone(),
            as_of: question.as_of,
            reentry: None,
            findings,
        });
    }
    Ok(advice)
}

fn words(error: &RuleError) -> String {
    error.to_string()
}

fn host(cache: Option<PathBuf>) -> Result<Host> {
    let options = HostOptions { code_cache: cache, ..HostOptions::default() };
    Host::new(options)
        .map_err(|error| EngineError::new(Fault::System, error.to_string(), "please report this as an error"))
}

/// What a pack is, for a listing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PackInfo {
    /// Its identifier.
    pub id: String,
    /// Its version.
    pub version: String,
    /// Its title.
    pub title: String,
    /// Regions, ISO 3166-2.
    pub regions: Vec<String>,
    /// Crops.
    pub crops: Vec<String>,
    /// The day by which its numbers are to be reviewed.
    pub review_by: String,
    /// Where it comes from and what its signature says.
    pub trust: String,
}

/// Rule packs that could be read, and those that could not.
#[derive(Debug, Default)]
pub struct Packs {
    /// The packs, those that come with the program first.
    pub(crate) sound: Vec<Pack>,
    /// How many of them come with the program.
    pub(crate) builtin: usize,
    /// Which could not be read, and why.
    pub(crate) failures: Vec<String>,
}

/// Returns the packs that come with the program and those of a folder. One that cannot be read does not keep the others
/// from being used; neither does one that takes the name of one that comes with the program.
pub fn load_packs(folder: Option<&Path>) -> Result<Packs> {
    let mut packs = Packs::default();
    for (name, bytes) in ligule_rules::builtin_packs() {
        packs.sound.push(Pack::from_bytes(name, bytes).map_err(|error| pack_error(&error))?);
    }
    packs.builtin = packs.sound.len();
    let Some(folder) = folder else { return Ok(packs) };
    let unreadable = |error: std::io::Error| {
        EngineError::user(
            format!("cannot read the pack folder {}: {error}", folder.display()),
            "name a folder that holds packs",
        )
    };
    let entries = std::fs::read_dir(folder).map_err(unreadable)?;
    let mut paths =
        entries.map(|entry| Ok(entry?.path())).collect::<std::io::Result<Vec<PathBuf>>>().map_err(unreadable)?;
    paths.sort();
    paths.retain(|path| path.extension().is_some_and(|e| e == "pack") || path.join("pack.toml").is_file());
    for path in paths {
        match Pack::open(&path) {
            Ok(pack) if packs.sound.iter().any(|known| known.manifest().id == pack.manifest().id) => {
                packs.failures.push(format!(
                    "{}: there is a pack `{}` already; take one of them away, or give it an id of its own",
                    path.display(),
                    pack.manifest().id
                ));
            }
            Ok(pack) => packs.sound.push(pack),
            Err(error) => packs.failures.push(words(&error)),
        }
    }
    Ok(packs)
}

/// Lists the packs, and those that could not be read with the reason.
pub fn packs(folder: Option<&Path>) -> Result<(Vec<PackInfo>, Vec<String>)> {
    let packs = load_packs(folder)?;
    let builtin = packs.builtin;
    let listed = packs
        .sound
        .iter()
        .enumerate()
        .map(|(index, pack)| {
            let manifest = pack.manifest();
            PackInfo {
                id: manifest.id.clone(),
                version: manifest.version.clone(),
                title: manifest.title.clone(),
                regions: manifest.regions.clone(),
                crops: manifest.crops.clone(),
                review_by: manifest.review_by.to_string(),
                trust: if index < builtin { "comes with the program".to_owned() } else { trust(pack) },
            }
        })
        .collect();
    Ok((listed, packs.failures))
}

fn trust(pack: &Pack) -> String {
    match ligule_rules::verify(pack, &[]) {
        Trust::Trusted(key) => format!("signed by {}", key.name),
        Trust::Stranger(key) => format!(
            "signed by a key not known here ({}…)",
            key.iter().take(4).map(|b| format!("{b:02x}")).collect::<String>()
        ),
        Trust::Unsigned => "not signed".to_owned(),
        Trust::Bad(why) => format!("the signature does not hold: {why}"),
    }
}

/// What a pack's own cases gave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PackCheck {
    /// The pack and its version.
    pub pack: String,
    /// Each case and what came of it.
    pub cases: Vec<(String, String)>,
    /// How many do not hold.
    pub failed: usize,
}

/// Runs the golden cases of a pack, given by path or by the name of one that comes with the program.
pub fn check_pack(which: &str) -> Result<PackCheck> {
    let builtin = ligule_rules::builtin_packs().iter().find(|(name, _)| {
        let name = name.trim_end_matches(".pack");
        name == which || name.rsplit_once('-').is_some_and(|(id, _)| id == which)
    });
    let pack = match builtin {
        Some((name, bytes)) => Pack::from_bytes(name, bytes),
        None if !Path::new(which).exists() => {
            let names = load_packs(None)?.sound.iter().map(|pack| pack.manifest().id.clone()).collect::<Vec<_>>();
            return Err(EngineError::user(
                format!("there is no pack `{which}`, and no file or folder of that name"),
                known("packs that come with the program", which, names),
            ));
        }
        None => Pack::open(which),
    }
    .map_err(|error| pack_error(&error))?;
    if let Trust::Bad(why) = ligule_rules::verify(&pack, &[]) {
        return Err(EngineError::new(
            Fault::Pack,
            format!("{}: {why}", pack.name()),
            "get the pack again from whoever signed it",
        ));
    }
    let loaded = host(None)?.load(&pack).map_err(|error| pack_error(&error))?;
    let report = ligule_rules::check(&loaded).map_err(|error| pack_error(&error))?;
    let cases: Vec<(String, String)> = report
        .cases
        .iter()
        .map(|case| {
            let state = if case.problems.is_empty() { "holds".to_owned() } else { case.problems.join("; ") };
            (format!("{}: {}", case.file, case.about), state)
        })
        .collect();
    let failed = report.cases.iter().filter(|case| !case.problems.is_empty()).count();
    Ok(PackCheck { pack: report.pack, cases, failed })
}

fn pack_error(error: &RuleError) -> EngineError {
    EngineError::new(Fault::Pack, words(error), "")
}
