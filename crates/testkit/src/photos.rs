//! Photos in memory, on a disk that can run full.

use std::collections::{BTreeMap, BTreeSet};

use ligule_sync::frame::PhotoWanted;
use ligule_sync::{PhotoHash, PhotoStore, StoreError};

/// Keeps photos of which every byte was checked against their hash.
#[derive(Debug, Clone, Default)]
pub struct PhotoBox {
    /// The photos that records name.
    pub named: BTreeSet<PhotoHash>,
    /// The files, whatever is in them.
    pub files: BTreeMap<PhotoHash, Vec<u8>>,
    /// What came of photos that did not come to their end.
    pub parts: BTreeMap<PhotoHash, Vec<u8>>,
    /// How many bytes the disk still takes; none: as many as come.
    pub room: Option<usize>,
    reading: Option<PhotoHash>,
    writing: Option<(PhotoHash, u64)>,
}

impl PhotoBox {
    /// Returns the hash of a photo.
    pub fn hash(bytes: &[u8]) -> PhotoHash {
        PhotoHash(*blake3::hash(bytes).as_bytes())
    }

    /// Keeps photos and names them.
    pub fn holding(photos: &[Vec<u8>]) -> Self {
        let files: BTreeMap<_, _> = photos.iter().map(|bytes| (Self::hash(bytes), bytes.clone())).collect();
        Self { named: files.keys().copied().collect(), files, ..Self::default() }
    }

    /// Names photos and keeps none.
    pub fn naming(photos: &[Vec<u8>]) -> Self {
        Self { named: photos.iter().map(|bytes| Self::hash(bytes)).collect(), ..Self::default() }
    }
}

impl PhotoStore for PhotoBox {
    fn missing(&mut self) -> Result<Vec<PhotoWanted>, StoreError> {
        let held = |hash: &PhotoHash| self.parts.get(hash).map_or(0, |part| part.len() as u64);
        let missing = self.named.iter().filter(|hash| !self.files.contains_key(hash));
        Ok(missing.map(|hash| PhotoWanted { hash: *hash, held: held(hash) }).collect())
    }

    fn open(&mut self, hash: PhotoHash) -> Result<Option<u64>, StoreError> {
        let file = self.files.get(&hash).filter(|_| self.named.contains(&hash));
        self.reading = file.map(|_| hash);
        Ok(file.map(|file| file.len() as u64))
    }

    fn read(&mut self, at: u64, most: usize) -> Result<Vec<u8>, StoreError> {
        let file = self.reading.and_then(|hash| self.files.get(&hash)).expect("one was opened");
        let at = usize::try_from(at).expect("a small file").min(file.len());
        Ok(file[at..file.len().min(at + most)].to_vec())
    }

    fn begin(&mut self, hash: PhotoHash, size: u64, from: u64) -> Result<bool, StoreError> {
        assert!(self.writing.is_none(), "one at a time");
        if self.files.contains_key(&hash) || !self.named.contains(&hash) {
            return Ok(false);
        }
        let part = self.parts.entry(hash).or_default();
        assert!(part.len() as u64 >= from, "nothing is left out that is not here");
        part.truncate(usize::try_from(from).expect("a small file"));
        self.writing = Some((hash, size));
        Ok(true)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), StoreError> {
        let (hash, _) = self.writing.expect("one was begun");
        if let Some(room) = &mut self.room {
            let Some(left) = room.checked_sub(bytes.len()) else {
                self.parts.remove(&hash);
                self.writing = None;
                return Err(StoreError { action: "keep a photo", reason: "no space left".to_owned() });
            };
            *room = left;
        }
        self.parts.get_mut(&hash).expect("it was begun").extend_from_slice(bytes);
        Ok(())
    }

    fn keep(&mut self) -> Result<bool, StoreError> {
        let (hash, size) = self.writing.take().expect("one was begun");
        let part = self.parts.remove(&hash).expect("it was begun");
        assert_eq!(part.len() as u64, size, "every byte came");
        let whole = Self::hash(&part) == hash;
        if whole {
            self.files.insert(hash, part);
        }
        Ok(whole)
    }

    fn break_off(&mut self) {
        self.writing = None;
    }
}
