//! Photos: looked at, kept beside the journal under their hash, recorded, listed, handed out, verified.

pub(crate) mod exchange;
mod media;
mod taken;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, HashMap};
use std::fs::{File, OpenOptions};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use ligule_journal::{Condition, Filter, JournalError, Photos, TakenPhoto};
use ligule_observation::field::Field;
use ligule_observation::ids::{Feature, ObservationKey};
use ligule_observation::record::{Record, Value};
use serde::Serialize;

pub use self::exchange::PhotoProgress;
use self::media::{Extent, Media};
use crate::phrases::Phrase;
use crate::recording::{Entry, Read as EntryRead, Recorded, name_of};
use crate::{Engine, EngineError, Fault, Result, cannot_write, fields, moment};

/// The kind of observation that a photo is.
pub const PHOTO: &str = "photo";

/// The measure that holds the hash.
pub(crate) const CONTENT: &str = "content";
/// The measure that tells when a picture was taken, by the camera's own clock.
pub(crate) const TAKEN_AT: &str = "taken_at";
/// The measure that names the observation which a photo illustrates.
pub(crate) const SHOWS: &str = "shows";

/// How much of a file is searched for what the camera says, in bytes.
const BEGINNING: u64 = 16 << 20;

/// What a file itself tells: measures and their values.
pub(crate) type Facts = Vec<(String, String)>;

/// A picture that was looked at and copied, and is not kept yet.
#[derive(Debug)]
pub struct NewPhoto {
    /// The file that it was read from.
    pub file: PathBuf,
    /// When the camera says it was taken, with the offset where the file has one (EXIF).
    pub at: Option<String>,
    /// Where, as latitude and longitude in degrees (EXIF).
    pub place: Option<String>,
    /// Whether its end is missing, so that it seems to be cut off or damaged.
    pub cut: bool,
    media: Media,
    copy: TakenPhoto,
}

/// What came of recording photos.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotosRecorded {
    /// The observations.
    pub recorded: Vec<Recorded>,
    /// Files whose content is recorded on the same field already, each with its observation.
    pub known: Vec<(PathBuf, ObservationKey)>,
    /// What a person should know of the files.
    pub notes: Vec<String>,
}

/// A photo in a listing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PhotoLine {
    /// The hash of its content.
    pub photo: String,
    /// The field's name.
    pub field: String,
    /// When it was observed, as the clock in the field's time zone shows it (RFC 3339).
    pub at: String,
    /// The same as people read it.
    #[serde(skip)]
    pub at_read: String,
    /// Who.
    pub by: String,
    /// Its IANA media type.
    pub media_type: String,
    /// Its length in bytes, where it was told.
    pub bytes: Option<u64>,
    /// What it shows.
    pub caption: String,
    /// When the camera says it was taken.
    pub taken_at: String,
    /// Its observation.
    pub observation: ObservationKey,
    /// The file on this device, if it is here.
    pub file: Option<PathBuf>,
}

/// What was found in the photos of this device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoCheck {
    /// How many of the recorded photos are here and whole.
    pub whole: usize,
    /// Recorded photos that are missing or damaged: the hash, what is the matter, the field.
    pub faults: Vec<(String, &'static str, String)>,
    /// Files beside them: those that no record speaks of, and damaged ones, each with what it is.
    pub others: Vec<(PathBuf, String)>,
}

impl PhotoCheck {
    /// What is the matter with a photo whose bytes are not those that were recorded.
    pub const DAMAGED: &'static str = "damaged";
    /// What is the matter with a photo that is not here.
    pub const MISSING: &'static str = "missing";
}

impl Engine {
    /// Counts the photos that records name and that are not on this device.
    pub fn missing_photos(&self) -> Result<usize> {
        let photos = self.journal.photos();
        let named = exchange::named(&self.journal)?;
        Ok(named.into_iter().filter(|(hash, told)| !exchange::is_here(&photos, &hash.to_string(), *told)).count())
    }

    /// Looks at a picture: copies it to where photos are kept, tells what the camera says. Nothing is recorded.
    ///
    /// # Errors
    /// A file that cannot be read, is too long, or is no picture of a sort that is kept.
    pub fn look_at_photo(&self, file: &Path) -> Result<NewPhoto> {
        let reading = &self.reading;
        let copy = self.journal.photos().take(file).map_err(|error| match error {
            JournalError::NoRoom { .. } => error.into(),
            _ => {
                let what = match file.exists() {
                    true => error.to_string(),
                    false => reading.say(Phrase::NoSuchFile, &[("file", &file.display())]),
                };
                EngineError::user(what, reading.word(Phrase::PictureExpected))
            }
        })?;
        let mut beginning = Vec::new();
        File::open(copy.path())?.take(BEGINNING).read_to_end(&mut beginning)?;
        let media = media::media(&beginning).ok_or_else(|| {
            let what = reading.say(Phrase::NoPicture, &[("file", &file.display())]);
            EngineError::user(what, reading.word(Phrase::PicturesKept))
        })?;
        let extent = media.extent(File::open(copy.path())?)?;
        if extent == Extent::Nothing {
            let what = reading.say(Phrase::NoImageInIt, &[("file", &file.display())]);
            return Err(EngineError::user(what, reading.word(Phrase::PictureAnew)));
        }
        let told = taken::told(&beginning);
        Ok(NewPhoto { file: file.to_owned(), at: told.at, place: told.place, cut: extent == Extent::Cut, media, copy })
    }

    /// Keeps the picture of a file beside the journal; returns the measures that the file itself tells, the content first, and
    /// what a person should know of it. Nothing is recorded.
    ///
    /// # Errors
    /// What [`Self::look_at_photo`] refuses.
    pub(crate) fn keep_photo(&self, file: &Path) -> Result<(Facts, Option<String>)> {
        let photo = self.look_at_photo(file)?;
        let mut entry = Entry::default();
        add_facts(&mut entry, &photo);
        let note = self.cut_note(&photo);
        self.journal.photos().keep(photo.copy, photo.media.extension)?;
        Ok((entry.values, note))
    }

    /// Says that a picture seems to be cut off, where it does.
    fn cut_note(&self, photo: &NewPhoto) -> Option<String> {
        photo.cut.then(|| self.reading.say(Phrase::PhotoCut, &[("file", &photo.file.display())]))
    }

    /// Keeps pictures and records them; both are on the disk when this returns.
    ///
    /// Each comes with its entry, to which content, media type, length and the camera's time are added; `others` are
    /// recorded with them. Everything is checked first: one entry that does not hold, and nothing is kept or recorded. A
    /// picture that is recorded on the same field already is kept and not recorded again; what the camera says of it otherwise
    /// than the record is noted, what was typed otherwise is refused.
    pub fn record_photos(
        &mut self,
        photos: Vec<(Entry, NewPhoto)>,
        others: Vec<Entry>,
        accept_time: bool,
    ) -> Result<PhotosRecorded> {
        let known_fields = self.journal.all_fields()?;
        let mut there: BTreeMap<(String, String), ObservationKey> = BTreeMap::new();
        for record in self.photo_records(None)? {
            if let (None, Feature::Field(field)) = (&record.void, &record.feature) {
                there.insert((field.clone(), text(&record, CONTENT)), record.key.clone());
            }
        }
        let (mut entries, mut kept, mut known, mut notes) = (others, Vec::new(), Vec::new(), Vec::new());
        for (mut entry, photo) in photos {
            add_facts(&mut entry, &photo);
            notes.extend(self.cut_note(&photo));
            let field = fields::find(known_fields.clone(), &entry.field, &self.reading)
                .map(|field| field.id)
                .unwrap_or_default();
            match there.get(&(field.clone(), photo.copy.hash.clone())) {
                Some(key) => {
                    notes.extend(self.says_the_same(&entry, &photo, key, &known_fields)?);
                    known.push((photo.file.clone(), key.clone()));
                }
                None => {
                    there.insert((field, photo.copy.hash.clone()), photo.file.display().to_string());
                    entries.push(entry);
                }
            }
            kept.push(photo);
        }
        let mut zones: HashMap<String, TimeZone> = HashMap::new();
        let sound = entries.iter().all(|entry| self.read_entry(entry, &known_fields, &mut zones, accept_time).is_ok());
        if sound {
            // The files first: no record speaks of a picture that is not on the disk.
            for photo in kept {
                self.journal.photos().keep(photo.copy, photo.media.extension)?;
            }
        }
        let recorded = if entries.is_empty() { Vec::new() } else { self.record(&entries, accept_time)? };
        Ok(PhotosRecorded { recorded, known, notes })
    }

    /// Refuses to drop what was typed of a picture that is recorded already: only where that says the same nothing is to be done.
    /// Returns a note where the camera says another time or place than the record.
    fn says_the_same(&self, entry: &Entry, photo: &NewPhoto, key: &str, fields: &[Field]) -> Result<Option<String>> {
        // Of a file that was named twice in one go there is no record yet, and both say the same.
        let Ok(there) = self.journal.record_by_key(key) else { return Ok(None) };
        let Ok(read) = self.read_entry(entry, fields, &mut HashMap::new(), true) else { return Ok(None) };
        let file = photo.file.display();
        let differs = |name: &&String| {
            read.values.get(*name).map(|to| &to.value) != there.values.get(*name).map(|measured| &measured.value)
        };
        let typed: Vec<&String> = entry.values.iter().map(|(name, _)| name).collect();
        let words: Vec<String> = typed
            .into_iter()
            .filter(|name| !matches!(name.as_str(), CONTENT | "media_type" | "bytes" | TAKEN_AT))
            .filter(differs)
            .filter_map(|name| Some(format!("--{} {:?}", name.replace('_', "-"), text_of(&read, name)?)))
            .collect();
        let reading = &self.reading;
        let other_time = entry.at.is_some() && read.moment.at != there.at;
        let other_place = entry.place.is_some() && read.place != there.place;
        // What the camera says was not typed.
        let moved = (other_time && entry.at != photo.at)
            || (other_place && entry.place != photo.place)
            || (entry.by.is_some() && read.by != there.by);
        if words.is_empty() && !moved {
            let with: [(&str, &dyn std::fmt::Display); 2] = [("file", &file), ("key", &key)];
            return Ok((other_time || other_place).then(|| reading.say(Phrase::PhotoOtherTime, &with)));
        }
        let hint = match moved {
            true => reading.say(Phrase::PhotoAnew, &[("key", &key)]),
            false => reading.say(Phrase::PhotoAmend, &[("key", &key), ("words", &words.join(" "))]),
        };
        Err(EngineError::user(reading.say(Phrase::PhotoThere, &[("file", &file), ("key", &key)]), hint))
    }

    /// Lists the photos that are recorded, of one field or of all, and whether they are here; void ones are left out.
    pub fn photo_lines(&self, field: Option<&str>) -> Result<Vec<PhotoLine>> {
        let names = self.names()?;
        let photos = self.journal.photos();
        let records = self.photo_records(field)?;
        let mut lines: Vec<PhotoLine> = records
            .iter()
            .filter(|record| record.void.is_none())
            .map(|record| {
                let (field, zone) = name_of(&names, &record.feature);
                let zone = zone.unwrap_or(TimeZone::UTC);
                let hash = text(record, CONTENT);
                PhotoLine {
                    field,
                    at: moment::instant(record.at, &zone),
                    at_read: moment::to_the_minute(record.at, &zone),
                    by: record.by.clone(),
                    media_type: text(record, "media_type"),
                    bytes: exchange::length(record),
                    caption: text(record, "caption"),
                    taken_at: text(record, TAKEN_AT),
                    observation: record.key.clone(),
                    file: photos.find(&hash).filter(|_| exchange::is_here(&photos, &hash, exchange::length(record))),
                    photo: hash,
                }
            })
            .collect();
        lines.sort_by(|a, b| (&a.field, &a.at, &a.observation).cmp(&(&b.field, &b.at, &b.observation)));
        Ok(lines)
    }

    /// Returns a photo by its observation or by its hash, of which the first 8 digits will do.
    ///
    /// # Errors
    /// None has that name, or several different ones begin so.
    pub fn photo(&self, name: &str) -> Result<PhotoLine> {
        let short = name.len() >= 8;
        let mut found: Vec<PhotoLine> = self
            .photo_lines(None)?
            .into_iter()
            .filter(|line| line.observation == name || (short && line.photo.starts_with(name)))
            .collect();
        let first = if found.is_empty() { None } else { Some(found.remove(0)) };
        let hint = self.reading.word(Phrase::PhotoListShows);
        let said = |what| self.reading.say(what, &[("name", &name)]);
        match first {
            None => Err(EngineError::user(said(Phrase::NoSuchPhoto), hint)),
            Some(first) if found.iter().any(|other| other.photo != first.photo) => {
                Err(EngineError::user(said(Phrase::SeveralPhotos), hint))
            }
            Some(first) => Ok(first),
        }
    }

    /// Copies a photo, byte for byte, to a file that is not there yet, or into a folder; returns the file.
    ///
    /// # Errors
    /// The photo is missing or damaged here (a damaged file is moved aside, so that the next exchange brings it); the file is
    /// there already or cannot be written.
    pub fn export_photo(&self, name: &str, into: &Path) -> Result<PathBuf> {
        let line = self.photo(name)?;
        let photos = self.journal.photos();
        let what = match photos.check(&line.photo)? {
            Condition::Whole => None,
            Condition::Damaged => {
                // What cannot be moved is told by `ligule photo verify`.
                let _ = set_aside(&photos, &line.photo);
                Some(PhotoCheck::DAMAGED)
            }
            Condition::Missing => Some(PhotoCheck::MISSING),
        };
        let (None, Some(source)) = (what, line.file) else {
            let what = match what {
                Some(PhotoCheck::DAMAGED) => Phrase::PhotoDamaged,
                _ => Phrase::PhotoNotHere,
            };
            let what = self.reading.say(what, &[("photo", &line.photo)]);
            return Err(EngineError::new(Fault::Data, what, self.reading.word(Phrase::PhotoMend)));
        };
        let to = match source.file_name() {
            Some(name) if into.is_dir() => into.join(name),
            _ => into.to_owned(),
        };
        let failed = |error: io::Error| cannot_write(&to, &error);
        let mut file = OpenOptions::new().write(true).create_new(true).open(&to).map_err(failed)?;
        let written =
            File::open(&source).and_then(|mut from| io::copy(&mut from, &mut file)).and_then(|_| file.sync_all());
        if let Err(error) = written {
            let _ = std::fs::remove_file(&to);
            return Err(failed(error));
        }
        Ok(to)
    }

    /// Reads every photo and tells which are missing and which damaged. A damaged file is moved aside, so that the next
    /// exchange brings the photo; nothing is deleted.
    pub fn verify_photos(&self) -> Result<PhotoCheck> {
        let names = self.names()?;
        let photos = self.journal.photos();
        let mut recorded: BTreeMap<String, String> = BTreeMap::new();
        for record in self.photo_records(None)? {
            recorded.entry(text(&record, CONTENT)).or_insert_with(|| name_of(&names, &record.feature).0);
        }
        let mut check = PhotoCheck { whole: 0, faults: Vec::new(), others: Vec::new() };
        for (hash, field) in &recorded {
            match photos.check(hash)? {
                Condition::Whole => check.whole += 1,
                Condition::Damaged => {
                    check.faults.push((hash.clone(), PhotoCheck::DAMAGED, field.clone()));
                    if let Err((file, why)) = set_aside(&photos, hash) {
                        let what = format!("damaged, and it cannot be moved aside ({why}): move it out of the folder");
                        check.others.push((file, what));
                    }
                }
                Condition::Missing => check.faults.push((hash.clone(), PhotoCheck::MISSING, field.clone())),
            }
        }
        for file in photos.files()? {
            let stem = file.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
            let what = if Photos::is_aside(&file) {
                "a damaged photo, moved aside; delete it once the photo is here whole"
            } else if file.extension().is_some_and(|extension| extension == "part") {
                if recorded.contains_key(stem) {
                    "not all of it has come; the next exchange goes on"
                } else {
                    "a copy that was not finished"
                }
            } else if !Photos::is_hash(stem) {
                "no photo by its name"
            } else if !recorded.contains_key(stem) {
                "in no record"
            } else {
                continue;
            };
            check.others.push((file, what.to_owned()));
        }
        Ok(check)
    }

    /// Returns the records of photos, void ones too.
    fn photo_records(&self, field: Option<&str>) -> Result<Vec<Record>> {
        let feature = field.map(|name| self.field(name)).transpose()?.map(|field| Feature::Field(field.id));
        Ok(self.journal.records(&Filter { feature, kind: Some(PHOTO.to_owned()), ..Filter::default() })?)
    }
}

/// What to do about a photo that is missing or damaged.
pub const MEND: &str = "`ligule sync with`, or a bundle that was written with `--photos`, brings it from a device that has it; or \
    record the picture again from its file";

/// Moves the file of a photo aside if it is damaged, so that the next exchange asks for the photo; returns the file that
/// cannot be moved, and why.
pub(crate) fn set_aside(photos: &Photos, hash: &str) -> std::result::Result<(), (PathBuf, String)> {
    match photos.set_aside(hash) {
        Ok(moved) => {
            if let Some(file) = moved {
                tracing::info!(file = %file.display(), "a damaged photo was moved aside");
            }
            Ok(())
        }
        Err(error) => {
            let file = photos.find(hash).unwrap_or_default();
            tracing::warn!(file = %file.display(), %error, "a damaged photo cannot be moved aside");
            Err((file, error.to_string()))
        }
    }
}

/// Adds what the file itself tells, where the entry does not say it.
fn add_facts(entry: &mut Entry, photo: &NewPhoto) {
    let mut facts = vec![
        (CONTENT, photo.copy.hash.clone()),
        ("media_type", photo.media.kind.to_owned()),
        ("bytes", photo.copy.bytes.to_string()),
    ];
    let said = entry.values.iter().any(|(name, _)| name == TAKEN_AT);
    facts.extend(photo.at.clone().filter(|_| !said).map(|at| (TAKEN_AT, at)));
    entry.values.extend(facts.into_iter().map(|(name, value)| (name.to_owned(), value)));
}

fn text(record: &Record, measure: &str) -> String {
    match record.values.get(measure).map(|measured| &measured.value) {
        Some(Value::Text(text)) => text.clone(),
        _ => String::new(),
    }
}

fn text_of(read: &EntryRead, measure: &str) -> Option<String> {
    match &read.values.get(measure)?.value {
        Value::Text(text) => Some(text.clone()),
        Value::Int(_) => None,
    }
}
