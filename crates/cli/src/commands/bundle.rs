use std::io;
use std::path::Path;
use std::sync::Arc;

use ligule_engine::number::counted;
use ligule_engine::{BundleRead, EngineError, Fault, Noun, Phrase, Result};

use crate::args::{Format, Global};
use crate::exit::note;
use crate::listing::{Listing, megabytes};
use crate::progress::Progress;
use crate::sync_args::{Bundle, BundleWrite};

/// Carries records and photos as a file.
pub(crate) fn run(global: &Global, args: &Bundle) -> Result<()> {
    match args {
        Bundle::Write(to) => write(global, to),
        Bundle::Read(from) => read(global, &from.file),
    }
}

fn write(global: &Global, to: &BundleWrite) -> Result<()> {
    let progress = Progress::start("writing the bundle");
    let engine = crate::open(global)?;
    let written = engine.write_bundle(&to.file, to.photos);
    drop(progress);
    let (written, reading) = (written?, engine.reading());
    if global.format == Format::Text {
        let photos = match (written.photos, written.photo_bytes) {
            (Some(photos), Some(bytes)) => {
                let photos = reading.counted(photos, Noun::Photo);
                reading.say(Phrase::AndPhotos, &[("photos", &photos), ("size", &megabytes(bytes))])
            }
            _ => String::new(),
        };
        say!(
            "{}: {}, {}, {}{photos}",
            to.file.display(),
            reading.counted(written.documents, Noun::Document),
            reading.counted(written.changes, Noun::Change),
            reading.counted(written.bytes, Noun::Byte)
        );
    } else {
        Listing::of(serde_json::to_value(&written)?).write(global.format, "", &mut io::stdout().lock())?;
    }
    for told in &written.notes {
        note(reading, told);
    }
    Ok(())
}

fn read(global: &Global, file: &Path) -> Result<()> {
    let mut engine = crate::open(global)?;
    let progress = Arc::new(Progress::start("reading the bundle"));
    let moving = Arc::clone(&progress);
    let read = engine.read_bundle(file, move |how| moving.say(super::sync::photos(how)));
    progress.end();
    let (read, reading) = (read?, engine.reading());
    if global.format == Format::Text {
        let photos = match read.photos {
            None if read.new_photos == 0 => String::new(),
            _ => format!(", {}", reading.counted(read.new_photos, Noun::NewPhoto)),
        };
        let with: [(&str, &dyn std::fmt::Display); 5] = [
            ("file", &file.display()),
            ("person", &read.person),
            ("changes", &reading.counted(read.new_changes, Noun::NewChange)),
            ("documents", &reading.counted(read.documents, Noun::Document)),
            ("photos", &photos),
        ];
        say!("{}", reading.say(Phrase::BundleTaken, &with));
    } else {
        Listing::of(serde_json::to_value(&read)?).write(global.format, "", &mut io::stdout().lock())?;
    }
    for refused in &read.refused {
        note(reading, &reading.say(Phrase::NotTakenIn, &[("refused", refused)]));
    }
    for told in &read.notes {
        note(reading, told);
    }
    if global.format == Format::Text {
        super::sync::tell_waiting(read.conflicts, reading)?;
    }
    came_whole(file, &read)
}

/// Fails where a part of a bundle was not taken in.
fn came_whole(file: &Path, read: &BundleRead) -> Result<()> {
    if let Some(why) = &read.photos_failed {
        return Err(EngineError::new(
            Fault::System,
            format!("{}: the records were taken in; the photos not all: {why}", file.display()),
            "make room on the disk and read the bundle again",
        ));
    }
    if !read.refused.is_empty() {
        return Err(EngineError::new(
            Fault::Data,
            format!(
                "{}: {} not taken in, {}",
                file.display(),
                counted(read.refused.len(), "part was", "parts were"),
                counted(read.documents, "document was", "documents were")
            ),
            "get the bundle again from whoever wrote it; what was taken in stays",
        ));
    }
    Ok(())
}
