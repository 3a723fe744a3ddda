//! A photo that comes from elsewhere piece by piece, and may come to its end on another day.

use std::{
    fs::{File, OpenOptions, TryLockError},
    io::{self, Read, Seek, SeekFrom, Write},
    path::{Path, PathBuf},
};

use super::{MOST_BYTES, PART, Photos};
use crate::error::JournalError;

/// What a disk must have left beside a photo that comes from elsewhere, in bytes: room for records, which nobody has twice.
///
/// Common practice, no source: a season of records takes a few MB (`journal`'s bench).
const FOR_RECORDS: u64 = 64 << 20;

/// What became of the wish to take in a photo.
#[derive(Debug)]
pub enum Receiving {
    /// It comes in now.
    Begun(Incoming),
    /// It is here already.
    Here,
    /// Another process takes it in at this moment.
    Busy,
}

/// What became of a photo of which every byte has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kept {
    /// It is what its hash says, durable, and has its name.
    Whole(PathBuf),
    /// It is not: it is gone, to be asked for anew.
    Damaged,
}

/// A photo of which some bytes are here, in `photos/<hash>.part`.
///
/// Dropped before its end it stays, and [`Photos::receive`] goes on with it. While it lives the file is locked, so that two
/// processes never write to one; a lock goes with its process, however that ends.
#[derive(Debug)]
pub struct Incoming {
    photos: Photos,
    hash: String,
    size: u64,
    held: u64,
    /// In a box, since it is long.
    hasher: Box<blake3::Hasher>,
    file: File,
    part: PathBuf,
}

impl Photos {
    /// Returns how many bytes of a photo that did not come to its end are here.
    pub fn begun(&self, hash: &str) -> u64 {
        let there = Self::is_hash(hash).then(|| std::fs::metadata(self.part(hash)).ok()).flatten();
        there.map_or(0, |part| part.len())
    }

    /// Begins to take in a photo of `size` bytes, or goes on after the first `from` of them.
    ///
    /// *Errors:* no hash; no size that is kept; fewer than `from` bytes are here; the disk refuses.
    pub fn receive(&self, hash: &str, size: u64, from: u64) -> Result<Receiving, JournalError> {
        let part = self.part(hash);
        let refuse = |why: String| JournalError::Io { file: part.clone(), why };
        let writing = |e: io::Error| refuse(e.to_string());
        if !Self::is_hash(hash) {
            return Err(refuse(format!("expected 64 hexadecimal digits in lower case, got {} letters", hash.len())));
        }
        if size == 0 || size > MOST_BYTES || from > size {
            return Err(refuse(format!("expected a photo of 1 to {MOST_BYTES} bytes, got {size} from {from} on")));
        }
        if self.length(hash) == Some(size) {
            return Ok(Receiving::Here);
        }
        std::fs::create_dir_all(&self.folder).map_err(writing)?;
        let needed = size - from + FOR_RECORDS;
        if let Some(room) = room(&self.folder).filter(|room| *room < needed) {
            return Err(refuse(format!(
                "there is no room for it: {} MB are left on the disk, and of them {} MB are kept for records",
                room / 1_000_000,
                FOR_RECORDS / 1_000_000
            )));
        }
        let mut file =
            OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&part).map_err(writing)?;
        match lock(&file) {
            Ok(true) if is_still(&file, &part) => {}
            Ok(_) => return Ok(Receiving::Busy),
            Err(error) => return Err(writing(error)),
        }
        // Between the first look and the lock another process may have brought it to its end.
        if self.length(hash) == Some(size) {
            std::fs::remove_file(&part).map_err(writing)?;
            return Ok(Receiving::Here);
        }
        let mut hasher = Box::new(blake3::Hasher::new());
        let held = hasher.update_reader(Read::by_ref(&mut file).take(from)).map_err(writing)?.count();
        if held != from {
            return Err(refuse(format!("it was to go on after {from} bytes, and only {held} are here")));
        }
        file.set_len(from).and_then(|()| file.seek(SeekFrom::Start(from))).map_err(writing)?;
        Ok(Receiving::Begun(Incoming { photos: self.clone(), hash: hash.to_owned(), size, held, hasher, file, part }))
    }

    /// Removes what unfinished copies left behind: those that no process is at work on, and of which no record that `named`
    /// knows speaks or whose photo has come meanwhile. Returns how many.
    ///
    /// *Errors:* the folder cannot be read.
    pub fn clean(&self, named: impl Fn(&str) -> bool) -> Result<usize, JournalError> {
        let mut removed = 0;
        for file in self.files()? {
            let stem = file.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
            if !super::is_part(&file) {
                continue;
            }
            // What a person put there under another name is left alone.
            let left = if file.parent() != Some(&self.folder) {
                // `<hash>.jpg.part`, of a journal's lines that were not read to their end.
                stem.split_once('.').is_some_and(|(hash, _)| Self::is_hash(hash))
            } else if Self::is_hash(stem) {
                !named(stem) || self.find(stem).is_some()
            } else {
                stem.starts_with(super::INCOMING)
            };
            // Whoever opens it after this gets the lock and finds that the name is gone.
            if left
                && let Ok(open) = OpenOptions::new().write(true).open(&file)
                && matches!(lock(&open), Ok(true))
                && std::fs::remove_file(&file).is_ok()
            {
                removed += 1;
            }
        }
        Ok(removed)
    }

    fn part(&self, hash: &str) -> PathBuf {
        self.folder.join(format!("{hash}{PART}"))
    }
}

impl Incoming {
    /// Returns how many bytes are here.
    pub fn held(&self) -> u64 {
        self.held
    }

    /// Tells whether every byte is here.
    pub fn is_complete(&self) -> bool {
        self.held == self.size
    }

    /// Returns the beginning of what is here, at most so many bytes.
    ///
    /// *Errors:* it cannot be read.
    pub fn beginning(&self, most: u64) -> Result<Vec<u8>, JournalError> {
        let mut beginning = Vec::new();
        let read = File::open(&self.part).and_then(|file| file.take(most).read_to_end(&mut beginning));
        read.map_err(|e| self.failed(&e))?;
        Ok(beginning)
    }

    /// Adds the next bytes.
    ///
    /// *Errors:* they are more than there were to come; the disk refuses them: all that had come is given up then, so that
    /// the room that is left is there for records.
    pub fn write(&mut self, bytes: &[u8]) -> Result<(), JournalError> {
        if bytes.len() as u64 > self.size - self.held {
            let why = format!("more came than the {} bytes that it has", self.size);
            return Err(JournalError::Io { file: self.part.clone(), why });
        }
        if let Err(error) = self.file.write_all(bytes) {
            let _ = std::fs::remove_file(&self.part);
            return Err(self.failed(&error));
        }
        self.hasher.update(bytes);
        self.held += bytes.len() as u64;
        Ok(())
    }

    /// Gives it its name if its bytes have its hash; it is durable on return. Otherwise it is removed.
    ///
    /// `extension` is that of its media type: `jpg`.
    ///
    /// *Errors:* not every byte is here; the disk refuses.
    pub fn keep(self, extension: &str) -> Result<Kept, JournalError> {
        if !self.is_complete() {
            let why = format!("{} of its {} bytes are here", self.held, self.size);
            return Err(JournalError::Io { file: self.part.clone(), why });
        }
        if self.hasher.finalize().to_hex().as_str() != self.hash {
            let _ = std::fs::remove_file(&self.part);
            return Ok(Kept::Damaged);
        }
        // What the disk refuses only now it may refuse for ever: the next attempt begins anew.
        if let Err(error) = self.file.sync_all() {
            let _ = std::fs::remove_file(&self.part);
            return Err(self.failed(&error));
        }
        let named = self.photos.name(&self.hash, extension, |file| std::fs::rename(&self.part, file))?;
        Ok(Kept::Whole(named))
    }

    fn failed(&self, error: &io::Error) -> JournalError {
        JournalError::Io { file: self.part.clone(), why: error.to_string() }
    }
}

impl Drop for Incoming {
    fn drop(&mut self) {
        if self.held == 0 {
            // Nothing to go on with. Renamed or removed already, it is another's by now, or nobody's.
            if is_still(&self.file, &self.part) {
                let _ = std::fs::remove_file(&self.part);
            }
        }
    }
}

/// Returns how many bytes the disk of a folder has left, where the system tells.
#[cfg(unix)]
fn room(folder: &Path) -> Option<u64> {
    let disk = rustix::fs::statvfs(folder).ok()?;
    disk.f_bavail.checked_mul(disk.f_frsize)
}

#[cfg(not(unix))]
fn room(_: &Path) -> Option<u64> {
    None
}

/// Takes the lock of a file, unless another process has it. Where the file system knows no locks, nobody has it.
pub(super) fn lock(file: &File) -> io::Result<bool> {
    match file.try_lock() {
        Ok(()) => Ok(true),
        Err(TryLockError::WouldBlock) => Ok(false),
        Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => Ok(true),
        Err(TryLockError::Error(error)) => Err(error),
    }
}

/// Tells whether an open file still has the name under which it was opened.
#[cfg(unix)]
pub(super) fn is_still(file: &File, name: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), std::fs::metadata(name)) {
        (Ok(open), Ok(named)) => (open.dev(), open.ino()) == (named.dev(), named.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
pub(super) fn is_still(_: &File, name: &Path) -> bool {
    name.exists()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photos::Condition;

    fn photos() -> (tempfile::TempDir, Photos) {
        let place = tempfile::tempdir().unwrap();
        let photos = Photos::in_folder(place.path().join("photos"));
        (place, photos)
    }

    fn begun(photos: &Photos, hash: &str, size: u64, from: u64) -> Incoming {
        match photos.receive(hash, size, from).unwrap() {
            Receiving::Begun(incoming) => incoming,
            other => panic!("{other:?}"),
        }
    }

    fn hash_of(bytes: &[u8]) -> String {
        blake3::hash(bytes).to_hex().to_string()
    }

    #[test]
    fn a_photo_comes_in_two_halves_on_two_days() {
        let (_place, photos) = photos();
        let bytes: Vec<u8> = (0..200_000_u32).flat_map(u32::to_le_bytes).collect();
        let (hash, size) = (hash_of(&bytes), bytes.len() as u64);
        let mut first = begun(&photos, &hash, size, 0);
        first.write(&bytes[..300_001]).unwrap();
        assert!(matches!(photos.receive(&hash, size, 0).unwrap(), Receiving::Busy), "one process at a time");
        first.keep("jpg").unwrap_err();
        assert_eq!((photos.begun(&hash), photos.check(&hash).unwrap()), (300_001, Condition::Missing));
        // Less than was here may be asked for, more not.
        photos.receive(&hash, size, 300_002).unwrap_err();
        let mut second = begun(&photos, &hash, size, 300_000);
        second.write(&bytes[300_000..]).unwrap();
        second.write(b"more").unwrap_err();
        let Kept::Whole(file) = second.keep("jpg").unwrap() else { panic!("it is whole") };
        assert_eq!(std::fs::read(&file).unwrap(), bytes);
        assert_eq!(photos.files().unwrap(), [file]);
        assert!(matches!(photos.receive(&hash, size, 0).unwrap(), Receiving::Here));
    }

    #[test]
    fn no_wrong_byte_gets_the_name_wherever_it_is() {
        let (_place, photos) = photos();
        let bytes = vec![7_u8; 5_000];
        let hash = hash_of(&bytes);
        for wrong in [0, 1, 2_499, 2_500, 4_999] {
            let mut damaged = bytes.clone();
            damaged[wrong] ^= 1;
            begun(&photos, &hash, 5_000, 0).write(&damaged[..2_500]).unwrap();
            let mut incoming = begun(&photos, &hash, 5_000, 2_500);
            incoming.write(&damaged[2_500..]).unwrap();
            assert_eq!(incoming.keep("jpg").unwrap(), Kept::Damaged);
            assert!(photos.files().unwrap().is_empty(), "byte {wrong}");
        }
        for (hash, size, from) in [("..", 1, 0), (&hash, 0, 0), (&hash, MOST_BYTES + 1, 0), (&hash, 5, 6)] {
            photos.receive(hash, size, from).unwrap_err();
        }
        drop(begun(&photos, &hash, 5_000, 0));
        assert!(photos.files().unwrap().is_empty(), "of nothing, nothing is left");
    }

    #[test]
    fn what_is_left_behind_goes_and_what_is_at_work_or_not_ours_stays() {
        let (place, photos) = photos();
        let (wanted, gone) = (hash_of(b"wanted"), hash_of(b"gone"));
        let mut at_work = begun(&photos, &gone, 9, 0);
        at_work.write(b"half").unwrap();
        begun(&photos, &wanted, 9, 0).write(b"half").unwrap();
        let source = place.path().join("a.jpg");
        std::fs::write(&source, b"abc").unwrap();
        let copying = photos.take(&source).unwrap();
        let folder = place.path().join("photos");
        std::fs::create_dir(folder.join("ab")).unwrap();
        let imported = format!("ab/{wanted}.jpg.part");
        for name in ["incoming-aB3xYz.part", "mine.part", "note.txt", "ab/mine.part", &imported] {
            std::fs::write(folder.join(name), "left").unwrap();
        }
        assert_eq!(photos.clean(|hash| hash == wanted).unwrap(), 2);
        assert!(folder.join("ab/mine.part").exists() && !folder.join(&imported).exists());
        assert!(copying.path().exists() && photos.begun(&gone) == 4 && photos.begun(&wanted) == 4);
        assert!(folder.join("mine.part").exists() && !folder.join("incoming-aB3xYz.part").exists());
        drop((copying, at_work));
        assert_eq!(photos.clean(|hash| hash == wanted).unwrap(), 1, "the one that nobody speaks of");
        assert_eq!(photos.begun(&wanted), 4);
    }
}
