//! `ligule photo`, and `ligule record photo FIELD FILE…`.

use std::collections::BTreeSet;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::PathBuf;

use clap::ArgMatches;
use ligule_engine::number::counted;
use ligule_engine::{
    Engine, EngineError, Entry, Fault, MEND_PHOTOS, NewPhoto, Noun, Phrase, Reading, Recorded, Result,
};
use serde_json::{Value, json};

use crate::args::{Format, Global};
use crate::exit::note;
use crate::listing::{Listing, printable};
use crate::photo_args::{Photo, PhotoExport};
use crate::progress::Progress;

/// Lists, shows, hands out and verifies photos.
pub(crate) fn run(global: &Global, args: &Photo) -> Result<()> {
    let engine = crate::open(global)?;
    match args {
        Photo::List(list) => {
            let columns = ["photo", "field", "at", "by", "media_type", "bytes", "caption", "here", "observation"];
            let mut listing = Listing::new(columns).read_by(engine.reading());
            let here = |here: bool| match global.format {
                Format::Text => json!(engine.reading().word(if here { Phrase::WordYes } else { Phrase::WordNo })),
                _ => json!(here),
            };
            let mut missing = BTreeSet::new();
            for line in engine.photo_lines(list.field.as_deref())? {
                if line.file.is_none() {
                    missing.insert(line.photo.clone());
                }
                listing.row(vec![
                    json!(line.photo),
                    json!(line.field),
                    json!(if global.format == Format::Text { &line.at_read } else { &line.at }),
                    json!(line.by),
                    json!(line.media_type),
                    json!(line.bytes),
                    json!(line.caption),
                    here(line.file.is_some()),
                    json!(line.observation),
                ]);
            }
            listing.write(global.format, engine.reading().word(Phrase::NoPhotos), &mut io::stdout().lock())?;
            if !missing.is_empty() {
                let (reading, mend) = (engine.reading(), engine.reading().word(Phrase::PhotoMend));
                let n = reading.counted(missing.len(), Noun::PhotoIs);
                note(reading, &reading.say(Phrase::PhotosNotHere, &[("n", &n), ("mend", &mend)]));
            }
            Ok(())
        }
        Photo::Show(name) => {
            let line = serde_json::to_value(engine.photo(&name.photo)?)?;
            let mut listing = Listing::new(["what", "value"]).read_by(engine.reading());
            for (what, value) in line.as_object().into_iter().flatten() {
                let what = if global.format == Format::Text { engine.reading().heading(what) } else { what };
                listing.row(vec![json!(what), if value.is_null() { Value::from("") } else { value.clone() }]);
            }
            Ok(listing.write(global.format, "", &mut io::stdout().lock())?)
        }
        Photo::Export(PhotoExport { photo, into }) => {
            let file = engine.export_photo(photo, into)?;
            say!("{}", engine.reading().say(Phrase::PhotoWrote, &[("file", &file.display())]));
            Ok(())
        }
        Photo::Verify => verify(global, &engine),
    }
}

fn verify(global: &Global, engine: &Engine) -> Result<()> {
    let progress = Progress::start("reading every photo");
    let check = engine.verify_photos()?;
    drop(progress);
    let mut listing = Listing::new(["photo", "state", "field"]).read_by(engine.reading());
    for (photo, state, field) in &check.faults {
        listing.row(vec![json!(photo), json!(state), json!(field)]);
    }
    let whole = counted(check.whole, "photo is", "photos are");
    listing.write(global.format, &format!("{whole} here and whole"), &mut io::stdout().lock())?;
    for (file, what) in &check.others {
        eprintln!("note: {}: {what}", printable(&file.display().to_string()));
    }
    if check.faults.is_empty() {
        return Ok(());
    }
    let faults = counted(check.faults.len(), "photo is", "photos are");
    Err(EngineError::new(Fault::Data, format!("{faults} missing or damaged; {whole} whole"), MEND_PHOTOS))
}

/// Pictures that were looked at, each with the observation that is to be made of it.
pub(crate) type Pictures = Vec<(Entry, NewPhoto)>;

/// What a line, typed or of a file, says of pictures.
pub(crate) struct Files {
    files: Vec<PathBuf>,
    /// Whether time and place are to be taken from what the camera says.
    from_exif: bool,
}

impl Files {
    /// Reads it; none where no file is named.
    pub(crate) fn of(matches: &ArgMatches) -> Option<Self> {
        let files: Vec<PathBuf> = matches.get_many("files")?.cloned().collect();
        Some(Self { files, from_exif: matches.get_flag("from-exif") })
    }
}

/// Looks at the files of what was typed; the person there is asked whether the camera is right.
pub(crate) fn look(engine: &Engine, entry: &Entry, files: &Files) -> Result<Pictures> {
    let progress = Progress::start("copying");
    let photos: Vec<NewPhoto> = files.files.iter().map(|file| engine.look_at_photo(file)).collect::<Result<_>>()?;
    drop(progress);
    let person = io::stdin().is_terminal() && io::stderr().is_terminal();
    let told = |photo: NewPhoto| Ok((from_camera(entry, &photo, files.from_exif, person, engine.reading())?, photo));
    photos.into_iter().map(told).collect()
}

/// Looks at the files that a line of a file names; nobody is asked. What is wrong with one is its entry's fault.
pub(crate) fn look_from_line(engine: &Engine, entry: &Entry, files: &Files) -> (Pictures, Vec<Entry>) {
    let (mut pictures, mut wrong) = (Vec::new(), Vec::new());
    for file in &files.files {
        let photo = engine.look_at_photo(file);
        let told =
            photo.and_then(|photo| Ok((from_camera(entry, &photo, files.from_exif, false, engine.reading())?, photo)));
        match told {
            Ok(picture) => pictures.push(picture),
            Err(error) => {
                let mut entry = entry.clone();
                entry.faults.push(error.message);
                wrong.push(entry);
            }
        }
    }
    (pictures, wrong)
}

/// Keeps the pictures and records them, and what is to be recorded beside them; returns what was recorded.
pub(crate) fn record(
    engine: &mut Engine,
    pictures: Pictures,
    others: Vec<Entry>,
    accept: bool,
) -> Result<Vec<Recorded>> {
    let done = engine.record_photos(pictures, others, accept)?;
    for (file, key) in &done.known {
        let known = [("file", &file.display() as &dyn std::fmt::Display), ("key", key)];
        note(engine.reading(), &engine.reading().say(Phrase::PhotoKnown, &known));
    }
    done.notes.iter().for_each(|said| note(engine.reading(), said));
    Ok(done.recorded)
}

/// Says what the camera tells, and takes it where that was asked for or is confirmed by a person who is there.
fn from_camera(entry: &Entry, photo: &NewPhoto, asked: bool, person: bool, reading: &Reading) -> Result<Entry> {
    let at = photo.at.as_ref().filter(|_| entry.at.is_none());
    let place = photo.place.as_ref().filter(|_| entry.place.is_none());
    let file = printable(&photo.file.display().to_string());
    if asked && photo.at.is_none() && entry.at.is_none() {
        let what = reading.say(Phrase::PhotoUntimed, &[("file", &file)]);
        return Err(EngineError::user(what, reading.word(Phrase::GivePhotoTime)));
    }
    let told = match (at, place) {
        (None, None) => return Ok(entry.clone()),
        (Some(at), None) => reading.say(Phrase::TakenAt, &[("at", at)]),
        (None, Some(place)) => reading.say(Phrase::TakenIn, &[("place", place)]),
        (Some(at), Some(place)) => reading.say(Phrase::TakenAtIn, &[("at", at), ("place", place)]),
    };
    let parts: [(&str, &dyn std::fmt::Display); 2] = [("file", &file), ("told", &told)];
    if asked {
        note(reading, &reading.say(Phrase::PhotoTold, &parts));
    } else if !person {
        note(reading, &reading.say(Phrase::PhotoToldUnused, &parts));
    } else {
        eprint!("{} ", reading.say(Phrase::PhotoToldAsk, &parts));
        io::stderr().flush()?;
        let mut answer = String::new();
        io::stdin().lock().read_line(&mut answer)?;
        if !matches!(answer.trim().to_lowercase().as_str(), "y" | "yes" | "s" | "sí" | "si") {
            return Ok(entry.clone());
        }
        return Ok(with(entry, at, place));
    }
    Ok(if asked { with(entry, at, place) } else { entry.clone() })
}

fn with(entry: &Entry, at: Option<&String>, place: Option<&String>) -> Entry {
    let mut entry = entry.clone();
    entry.at = entry.at.or_else(|| at.cloned());
    entry.place = entry.place.or_else(|| place.cloned());
    entry
}
