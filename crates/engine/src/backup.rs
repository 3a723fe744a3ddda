//! A copy of everything that a device holds, made while others write.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::Engine;
use crate::error::{EngineError, Fault, Result};

/// What a backup holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BackedUp {
    /// Documents.
    pub documents: usize,
    /// Files beside the database: own kinds, photos.
    pub files: usize,
    /// Bytes altogether.
    pub bytes: u64,
}

impl Engine {
    /// Writes a copy of the journal's folder into a new folder, while other processes go on writing.
    ///
    /// The copy is this device, and is put in the place of the journal where that is lost; see
    /// [`ligule_journal::Journal::copy_into`]. Everything in the folder is copied except the season archive, which
    /// `compact` writes anew.
    ///
    /// # Errors
    /// The folder is there already, lies in the journal or in a folder that is not there, or cannot be written; nothing is left of it then.
    pub fn back_up(&self, into: &Path) -> Result<BackedUp> {
        if into.exists() {
            return Err(EngineError::user(
                format!("{} is there already, and a backup overwrites nothing", into.display()),
                "name a new folder, for example with the day in its name",
            ));
        }
        let name = into
            .file_name()
            .ok_or_else(|| EngineError::user(format!("{} names no folder", into.display()), "name a new folder"))?;
        let beside = match into.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        let failed = |error: std::io::Error| crate::cannot_write(into, &error);
        // Where a stick is not mounted its folder is not there either, and a copy made in its place would lie on this disk.
        if !beside.is_dir() {
            return Err(EngineError::user(
                format!("there is no folder {}, where the backup would lie", beside.display()),
                "look whether the other disk is there, or make the folder first",
            ));
        }
        let full = |path: &Path| fs::canonicalize(path).map_err(failed);
        if full(beside)?.starts_with(full(&self.folder)?) {
            return Err(EngineError::user(
                format!("{} lies in the journal that it would be a copy of", into.display()),
                "name a folder elsewhere, best on another disk",
            ));
        }
        let mut part = name.to_owned();
        part.push(".part");
        let part = beside.join(part);
        // What an earlier backup left that was ended in between.
        if part.exists() {
            fs::remove_dir_all(&part).map_err(failed)?;
        }
        let done = self.copy_all(&part).and_then(|copied| {
            fs::rename(&part, into).and_then(|()| sync_folder(beside)).map_err(failed)?;
            Ok(copied)
        });
        if done.is_err() {
            let _ = fs::remove_dir_all(&part);
        }
        done
    }

    fn copy_all(&self, to: &Path) -> Result<BackedUp> {
        let failed = |error: std::io::Error| crate::cannot_write(to, &error);
        fs::create_dir(to).map_err(failed)?;
        // The database first: whatever file it names is there when the files are copied.
        let database = to.join("journal.sqlite");
        self.journal.copy_into(&database)?;
        let mut copied = BackedUp {
            documents: self.journal.documents()?.len(),
            files: 0,
            bytes: fs::metadata(&database).map_err(failed)?.len(),
        };
        for file in files(&self.folder)? {
            let (from, to) = (self.folder.join(&file), to.join(&file));
            if let Some(folder) = to.parent() {
                fs::create_dir_all(folder).map_err(failed)?;
            }
            let read = |error: std::io::Error| {
                let message = format!("{} cannot be copied: {error}", from.display());
                EngineError::new(Fault::System, message, "mend or remove the file, or make room, and repeat")
            };
            copied.bytes += fs::copy(&from, &to).map_err(read)?;
            File::open(&to).and_then(|file| file.sync_all()).map_err(read)?;
            copied.files += 1;
        }
        sync_folder(to).map_err(failed)?;
        Ok(copied)
    }
}

/// Lists the files that lie in a journal's folder beside the database, sorted: own kinds, photos, not the archive.
pub(crate) fn files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(here) = folders.pop() {
        for entry in fs::read_dir(folder.join(&here))? {
            let entry = entry?;
            let path = here.join(entry.file_name());
            let name = path.to_string_lossy();
            // The database is copied by itself; a file that is being written has no name yet; the archive follows from
            // the documents.
            if name.starts_with("journal.sqlite") || name.ends_with(".part") || name == "archive" {
                continue;
            }
            let kind = fs::metadata(entry.path())?;
            if kind.is_dir() {
                folders.push(path);
            } else if kind.is_file() {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Makes sure that the names in a folder are on disk.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> std::io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> std::io::Result<()> {
    Ok(())
}
