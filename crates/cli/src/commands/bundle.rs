use std::io;
use std::path::Path;
use std::sync::Arc;

use ligule_engine::number::counted;
use ligule_engine::{BundleRead, EngineError, Fault, Result};

use crate::args::{Format, Global};
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
    let written = crate::open(global)?.write_bundle(&to.file, to.photos);
    drop(progress);
    let written = written?;
    if global.format == Format::Text {
        let photos = match (written.photos, written.photo_bytes) {
            (Some(photos), Some(bytes)) => {
                format!(", and {}, {}", counted(photos, "photo", "photos"), megabytes(bytes))
            }
            _ => String::new(),
        };
        say!(
            "{}: {}, {}, {}{photos}",
            to.file.display(),
            counted(written.documents, "document", "documents"),
            counted(written.changes, "change", "changes"),
            counted(written.bytes, "byte", "bytes")
        );
    } else {
        Listing::of(serde_json::to_value(&written)?).write(global.format, "", &mut io::stdout().lock())?;
    }
    for note in &written.notes {
        eprintln!("note: {note}");
    }
    Ok(())
}

fn read(global: &Global, file: &Path) -> Result<()> {
    let mut engine = crate::open(global)?;
    let progress = Arc::new(Progress::start("reading the bundle"));
    let moving = Arc::clone(&progress);
    let read = engine.read_bundle(file, move |how| moving.say(super::sync::photos(how)));
    progress.end();
    let read = read?;
    if global.format == Format::Text {
        let photos = match read.photos {
            None if read.new_photos == 0 => String::new(),
            _ => format!(", {}", counted(read.new_photos, "new photo", "new photos")),
        };
        say!(
            "{} from {}: {} in {}{photos}",
            file.display(),
            read.person,
            counted(read.new_changes, "new change", "new changes"),
            counted(read.documents, "document", "documents")
        );
    } else {
        Listing::of(serde_json::to_value(&read)?).write(global.format, "", &mut io::stdout().lock())?;
    }
    for refused in &read.refused {
        eprintln!("note: not taken in: {refused}");
    }
    for note in &read.notes {
        eprintln!("note: {note}");
    }
    if global.format == Format::Text {
        super::sync::tell_waiting(read.conflicts)?;
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
