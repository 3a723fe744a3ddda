//! Photos: files under the hash of their content, in `photos/` beside the journal; never in a document.

use std::{
    fs::File,
    io::{self, Read, Write},
    path::{Path, PathBuf},
};

use tempfile::NamedTempFile;

pub use self::incoming::{Incoming, Kept, Receiving};
use crate::{error::JournalError, store::Journal};

mod incoming;

/// The longest file that is kept, in bytes: 200 MB, as the kind `photo` says.
pub const MOST_BYTES: u64 = 200_000_000;

/// What the names of unfinished copies end in.
const PART: &str = ".part";
/// What the names of damaged files end in that were moved aside.
const ASIDE: &str = "damaged";
/// What the names of copies begin with whose hash is not known yet.
const INCOMING: &str = "incoming-";

/// The photos of a journal.
///
/// A photo lies in `photos/<first two digits>/<hash>.<extension>`; the hash is BLAKE3 of its bytes, 64 hexadecimal digits
/// in lower case.
#[derive(Debug, Clone)]
pub struct Photos {
    folder: PathBuf,
}

/// A copy of a file that is on the disk and has no name yet; dropped, it is gone.
#[derive(Debug)]
pub struct Taken {
    /// The hash of its bytes.
    pub hash: String,
    /// How many bytes.
    pub bytes: u64,
    copy: NamedTempFile,
}

impl Taken {
    /// Returns the copy, to look at what is in it.
    pub fn path(&self) -> &Path {
        self.copy.path()
    }
}

/// What came of copying photos.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CopiedPhotos {
    /// How many were copied, and are whole.
    pub whole: usize,
    /// Hashes of files that were not copied, and why: they are damaged or cannot be read.
    pub damaged: Vec<(String, String)>,
}

/// What lies under a hash.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// The file whose hash it is.
    Whole,
    /// A file with another content.
    Damaged,
    /// Nothing.
    Missing,
}

impl Journal {
    /// Returns the photos beside this journal.
    pub fn photos(&self) -> Photos {
        Photos::in_folder(self.folder().join("photos"))
    }
}

/// Tells whether a file is an unfinished copy, by its name.
fn is_part(file: &Path) -> bool {
    file.extension().is_some_and(|extension| extension == &PART[1..])
}

impl Photos {
    /// Returns the photos of a folder, which need not be there yet.
    pub fn in_folder(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Tells whether a text is a hash as photos have one: 64 hexadecimal digits in lower case.
    pub fn is_hash(text: &str) -> bool {
        text.len() == 64 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
    }

    /// Copies a file of at most [`MOST_BYTES`] to where the photos are, without a name yet.
    ///
    /// *Errors:* the file cannot be read, is no file, is empty or too long; the copy cannot be written.
    pub fn take(&self, source: &Path) -> Result<Taken, JournalError> {
        let reading = |e: io::Error| JournalError::Io { file: source.into(), why: e.to_string() };
        let refuse = |why: String| JournalError::Io { file: source.into(), why };
        let writing = |e: io::Error| {
            let (file, why) = (self.folder.clone(), e.to_string());
            match e.kind() {
                io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
                    JournalError::NoRoom { file, why }
                }
                _ => JournalError::Io { file, why },
            }
        };
        // A pipe or a device might never end: it is not even opened.
        let found = std::fs::metadata(source).map_err(reading)?;
        if !found.is_file() {
            return Err(refuse("it is no file".into()));
        }
        let too_long = || refuse(format!("it has more than {} MB, the most that is kept", MOST_BYTES / 1_000_000));
        if found.len() > MOST_BYTES {
            return Err(too_long());
        }
        let mut file = File::open(source).map_err(reading)?.take(MOST_BYTES + 1);
        std::fs::create_dir_all(&self.folder).map_err(writing)?;
        let mut copy = self.locked().map_err(writing)?;
        let mut hasher = blake3::Hasher::new();
        let mut bytes = 0;
        let mut buffer = vec![0; 1 << 16];
        loop {
            let n = file.read(&mut buffer).map_err(reading)?;
            if n == 0 {
                break;
            }
            bytes += n as u64;
            hasher.update(&buffer[..n]);
            copy.write_all(&buffer[..n]).map_err(writing)?;
        }
        if bytes == 0 {
            return Err(refuse("it is empty".into()));
        }
        if bytes > MOST_BYTES {
            return Err(too_long());
        }
        copy.as_file().sync_all().map_err(writing)?;
        Ok(Taken { hash: hasher.finalize().to_hex().to_string(), bytes, copy })
    }

    /// Gives a copy its name; it is durable on return. A file that is there already, whole or damaged, is replaced by it.
    ///
    /// `extension` is that of its media type: `jpg`.
    pub fn keep(&self, taken: Taken, extension: &str) -> Result<PathBuf, JournalError> {
        let Taken { hash, copy, .. } = taken;
        self.name(&hash, extension, |file| copy.persist(file).map(|_| ()).map_err(|e| e.error))
    }

    /// Begins a copy that [`Self::clean`] leaves alone as long as this process lives.
    fn locked(&self) -> io::Result<NamedTempFile> {
        loop {
            let copy = tempfile::Builder::new().prefix(INCOMING).suffix(PART).tempfile_in(&self.folder)?;
            // Before it was locked another process may have taken it for one that was left behind.
            if incoming::lock(copy.as_file())? && incoming::is_still(copy.as_file(), copy.path()) {
                return Ok(copy);
            }
        }
    }

    /// Lets `rename` give a file the name of a photo, and makes the name durable.
    fn name(
        &self,
        hash: &str,
        extension: &str,
        rename: impl FnOnce(&Path) -> io::Result<()>,
    ) -> Result<PathBuf, JournalError> {
        let folder = self.shelf(hash);
        let writing = |e: io::Error| JournalError::Io { file: folder.clone(), why: e.to_string() };
        std::fs::create_dir_all(&folder).map_err(writing)?;
        let file = folder.join(format!("{hash}.{extension}"));
        rename(&file).map_err(writing)?;
        // A damaged one under another extension must not be found instead.
        while self.find(hash).is_some_and(|found| found != file) && self.set_aside(hash)?.is_some() {}
        // The names: of the file, of its folder, of `photos` itself.
        for named in [Some(folder.as_path()), Some(&self.folder), self.folder.parent()].into_iter().flatten() {
            sync_folder(named).map_err(writing)?;
        }
        Ok(file)
    }

    /// Returns the file under a hash, whatever its extension.
    pub fn find(&self, hash: &str) -> Option<PathBuf> {
        if !Self::is_hash(hash) {
            return None;
        }
        let entries = std::fs::read_dir(self.shelf(hash)).ok()?;
        let mut files: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
        files.sort();
        files.into_iter().find(|file| file.file_stem().is_some_and(|stem| stem == hash) && !Self::is_aside(file))
    }

    /// Returns the length of the file under a hash, in bytes.
    pub fn length(&self, hash: &str) -> Option<u64> {
        std::fs::metadata(self.find(hash)?).ok().map(|file| file.len())
    }

    /// Reads the file under a hash and tells whether it is what it should be.
    ///
    /// *Errors:* it is there and cannot be read.
    pub fn check(&self, hash: &str) -> Result<Condition, JournalError> {
        let Some(file) = self.find(hash) else { return Ok(Condition::Missing) };
        Ok(if has_hash(&file, hash)?.1 { Condition::Whole } else { Condition::Damaged })
    }

    /// Moves the file under a hash aside if it is damaged, so that the photo is missing and the next exchange asks for it;
    /// returns where it lies now: beside its old place, named `….damaged`. A file that is whole stays.
    ///
    /// *Errors:* it cannot be read or renamed; it is where it was then.
    pub fn set_aside(&self, hash: &str) -> Result<Option<PathBuf>, JournalError> {
        let Some(file) = self.find(hash) else { return Ok(None) };
        let (read, whole) = has_hash(&file, hash)?;
        if whole {
            return Ok(None);
        }
        let failed = |e: io::Error| JournalError::Io { file: file.clone(), why: e.to_string() };
        let name = |suffix: String| {
            let mut name = file.clone().into_os_string();
            name.push(suffix);
            PathBuf::from(name)
        };
        let mut aside = name(format!(".{ASIDE}"));
        let mut number = 1;
        while aside.try_exists().map_err(failed)? {
            number += 1;
            aside = name(format!(".{ASIDE}-{number}"));
        }
        match std::fs::rename(&file, &aside) {
            Ok(()) => {}
            // Another process was quicker.
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(failed(error)),
        }
        if !incoming::is_still(&read, &aside) {
            // Since it was read, another process put a whole one in its place: back with that.
            std::fs::rename(&aside, &file).map_err(failed)?;
            return Ok(None);
        }
        sync_folder(&self.shelf(hash)).map_err(failed)?;
        Ok(Some(aside))
    }

    /// Copies every photo of another folder that is whole and not here yet, whether or not a record names it. The other
    /// folder stays as it is.
    ///
    /// *Errors:* the other folder cannot be read, or this one cannot be written; what was copied before stays.
    pub fn copy_from(&self, other: &Self) -> Result<CopiedPhotos, JournalError> {
        let mut copied = CopiedPhotos::default();
        for file in other.files()? {
            let stem = file.file_stem().and_then(|stem| stem.to_str()).filter(|stem| Self::is_hash(stem));
            let Some(hash) = stem.filter(|_| !is_part(&file) && !Self::is_aside(&file)) else { continue };
            let extension = file.extension().and_then(|extension| extension.to_str()).unwrap_or("bin");
            match self.take(&file) {
                Ok(taken) if taken.hash == hash => {
                    self.keep(taken, extension)?;
                    copied.whole += 1;
                }
                Ok(_) => copied.damaged.push((hash.to_owned(), "damaged".to_owned())),
                // The disk that the copies are written to would refuse the next as well.
                Err(JournalError::Io { file: at, why }) if at == file => copied.damaged.push((hash.to_owned(), why)),
                Err(error) => return Err(error),
            }
        }
        Ok(copied)
    }

    /// Tells whether a file is a damaged photo that was moved aside, by its name.
    pub fn is_aside(file: &Path) -> bool {
        let extension = file.extension().and_then(|extension| extension.to_str());
        let number = extension.and_then(|extension| extension.strip_prefix(ASIDE));
        number.is_some_and(|number| number.is_empty() || number.starts_with('-'))
    }

    /// Returns every file in the folder of photos, unfinished copies among them.
    ///
    /// *Errors:* a folder cannot be read.
    pub fn files(&self) -> Result<Vec<PathBuf>, JournalError> {
        let mut files = Vec::new();
        let mut folders = vec![self.folder.clone()];
        while let Some(folder) = folders.pop() {
            let reading = |e: io::Error| JournalError::Io { file: folder.clone(), why: e.to_string() };
            let entries = match std::fs::read_dir(&folder) {
                Ok(entries) => entries,
                Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                Err(error) => return Err(reading(error)),
            };
            for entry in entries {
                let entry = entry.map_err(reading)?;
                // A link is told as what it is, and not followed.
                if entry.file_type().map_err(reading)?.is_dir() {
                    folders.push(entry.path());
                } else {
                    files.push(entry.path());
                }
            }
        }
        files.sort();
        Ok(files)
    }

    fn shelf(&self, hash: &str) -> PathBuf {
        self.folder.join(&hash[..2])
    }
}

/// Reads a file and tells whether its bytes have that hash; returns it too, still open.
fn has_hash(file: &Path, hash: &str) -> Result<(File, bool), JournalError> {
    let reading = |e: io::Error| JournalError::Io { file: file.into(), why: e.to_string() };
    let open = File::open(file).map_err(reading)?;
    let mut hasher = blake3::Hasher::new();
    hasher.update_reader(&open).map_err(reading)?;
    Ok((open, hasher.finalize().to_hex().as_str() == hash))
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn photos() -> (tempfile::TempDir, Photos) {
        let place = tempfile::tempdir().unwrap();
        let photos = Photos::in_folder(place.path().join("photos"));
        (place, photos)
    }

    #[test]
    fn a_file_is_kept_byte_for_byte_under_its_hash() {
        let (place, photos) = photos();
        let source = place.path().join("a.jpg");
        std::fs::write(&source, b"abc").unwrap();
        let taken = photos.take(&source).unwrap();
        // BLAKE3 of `abc` (value from memory).
        assert_eq!(taken.hash, "6437b3ac38465133ffb63b75273a8db548c558465d79db03fd359c6cd5bd9d85");
        let hash = taken.hash.clone();
        assert_eq!(photos.check(&hash).unwrap(), Condition::Missing);
        let file = photos.keep(taken, "jpg").unwrap();
        assert_eq!(std::fs::read(&file).unwrap(), b"abc");
        assert_eq!(photos.check(&hash).unwrap(), Condition::Whole);
        std::fs::write(&file, b"abd").unwrap();
        assert_eq!(photos.check(&hash).unwrap(), Condition::Damaged);
        // Kept again it is mended, and nothing else is left behind.
        photos.keep(photos.take(&source).unwrap(), "jpg").unwrap();
        assert_eq!(photos.check(&hash).unwrap(), Condition::Whole);
        assert_eq!(photos.files().unwrap(), [file]);
    }

    #[test]
    fn what_is_no_photo_leaves_nothing() {
        let (place, photos) = photos();
        let empty = place.path().join("empty");
        std::fs::write(&empty, b"").unwrap();
        let huge = place.path().join("huge");
        File::create(&huge).unwrap().set_len(MOST_BYTES + 1).unwrap();
        for source in [place.path(), &empty, &huge, &place.path().join("absent")] {
            photos.take(source).unwrap_err();
        }
        std::fs::write(&empty, b"not kept").unwrap();
        drop(photos.take(&empty).unwrap());
        assert!(photos.files().unwrap().is_empty());
    }

    /// Keeps a file of this content, and returns its hash and where it lies.
    fn kept(place: &tempfile::TempDir, photos: &Photos, content: &[u8], extension: &str) -> (String, PathBuf) {
        let source = place.path().join("source");
        std::fs::write(&source, content).unwrap();
        let taken = photos.take(&source).unwrap();
        (taken.hash.clone(), photos.keep(taken, extension).unwrap())
    }

    #[test]
    fn what_is_damaged_is_moved_aside_and_nothing_of_it_is_lost() {
        let (place, photos) = photos();
        let (hash, file) = kept(&place, &photos, b"abc", "jpg");
        assert_eq!(photos.set_aside(&hash).unwrap(), None, "a whole one stays");
        for (time, name) in [(1, "damaged"), (2, "damaged-2"), (3, "damaged-3")] {
            let damage = format!("ab{time}");
            std::fs::write(&file, &damage).unwrap();
            let aside = photos.set_aside(&hash).unwrap().unwrap();
            assert_eq!(aside, file.with_extension(format!("jpg.{name}")));
            assert_eq!(std::fs::read_to_string(&aside).unwrap(), damage);
            assert!(Photos::is_aside(&aside) && !Photos::is_aside(&file));
            assert_eq!((photos.check(&hash).unwrap(), photos.length(&hash)), (Condition::Missing, None));
            assert_eq!(photos.set_aside(&hash).unwrap(), None, "it is missing");
            kept(&place, &photos, b"abc", "jpg");
            assert_eq!(photos.check(&hash).unwrap(), Condition::Whole);
        }
        // What unfinished copies left behind is cleaned away, these are not.
        assert_eq!((photos.clean(|_| false).unwrap(), photos.files().unwrap().len()), (0, 4));
    }

    #[test]
    fn a_damaged_one_of_another_extension_is_not_found_instead() {
        let (place, photos) = photos();
        let (hash, file) = kept(&place, &photos, b"abc", "bin");
        std::fs::write(&file, b"abd").unwrap();
        let (_, whole) = kept(&place, &photos, b"abc", "jpg");
        assert_eq!(photos.find(&hash), Some(whole));
        assert_eq!((photos.check(&hash).unwrap(), file.exists()), (Condition::Whole, false));
        assert_eq!(photos.files().unwrap().len(), 2, "nothing is deleted");
    }

    #[test]
    fn what_is_whole_is_copied_and_the_rest_is_told() {
        let (place, photos) = photos();
        let (_, whole) = kept(&place, &photos, b"abc", "jpg");
        let (damaged, file) = kept(&place, &photos, b"abd", "jpg");
        std::fs::write(&file, b"abx").unwrap();
        let (empty, file) = kept(&place, &photos, b"abe", "png");
        std::fs::write(&file, b"").unwrap();
        let (aside, file) = kept(&place, &photos, b"abf", "png");
        std::fs::write(&file, b"abx").unwrap();
        photos.set_aside(&aside).unwrap();
        std::fs::write(place.path().join("photos/note.txt"), "mine").unwrap();
        let before = photos.files().unwrap();
        let into = Photos::in_folder(place.path().join("other/photos"));
        let copied = into.copy_from(&photos).unwrap();
        let mut told: Vec<_> = copied.damaged.iter().map(|(hash, _)| hash.clone()).collect();
        told.sort();
        let mut expected = vec![damaged, empty];
        expected.sort();
        assert_eq!((copied.whole, told), (1, expected));
        let [copy] = into.files().unwrap().try_into().unwrap();
        assert_eq!(std::fs::read(&copy).unwrap(), b"abc");
        assert_eq!(copy.file_name(), whole.file_name());
        assert_eq!(photos.files().unwrap(), before, "they stay as they are");
    }

    #[test]
    fn a_hash_is_never_a_path() {
        let (_place, photos) = photos();
        for text in ["", "..", "../../etc/passwd", &"é".repeat(32), &"A".repeat(64)] {
            assert!(!Photos::is_hash(text) && photos.find(text).is_none(), "{text}");
        }
    }
}
