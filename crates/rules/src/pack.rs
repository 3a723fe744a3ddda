//! A pack's files, from a folder or from a `.pack` file.

use std::{
    collections::BTreeMap,
    fs,
    io::{Cursor, Read, Write},
    path::Path,
};

use crate::{Manifest, RuleError};

/// Most bytes that a pack may hold once unpacked.
const MOST_BYTES: u64 = 64 << 20;
/// Most files that a pack may hold.
const MOST_FILES: usize = 1000;

/// A pack that was opened: its manifest is sound; its rule was not looked at yet.
#[derive(Debug, Clone)]
pub struct Pack {
    manifest: Manifest,
    files: BTreeMap<String, Vec<u8>>,
}

impl Pack {
    /// Opens a pack: a folder with a `pack.toml`, or a `.pack` file (a zip archive).
    pub fn open(path: impl AsRef<Path>) -> Result<Self, RuleError> {
        let path = path.as_ref();
        let unreadable = |e: std::io::Error| RuleError::Unreadable { path: path.to_owned(), problem: e.to_string() };
        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        if !path.is_dir() {
            let size = fs::metadata(path).map_err(unreadable)?.len();
            if size > MOST_BYTES {
                return Err(too_large(&name));
            }
            return Self::from_bytes(&name, &fs::read(path).map_err(unreadable)?);
        }
        let mut files = BTreeMap::new();
        let mut left = MOST_BYTES;
        read_folder(path, "", &mut files, &mut left).map_err(unreadable)?;
        if left == 0 || files.len() > MOST_FILES {
            return Err(too_large(&name));
        }
        Self::from_files(&name, files)
    }

    /// Opens a pack from the bytes of a `.pack` file; `name` is for messages.
    pub fn from_bytes(name: &str, bytes: &[u8]) -> Result<Self, RuleError> {
        let damaged = |problem: String| RuleError::Damaged {
            pack: name.to_owned(),
            file: "the .pack file itself".to_owned(),
            problem: format!("expected a zip archive: {problem}"),
        };
        let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
        if archive.len() > MOST_FILES {
            return Err(too_large(name));
        }
        let mut files = BTreeMap::new();
        let mut left = MOST_BYTES;
        for i in 0..archive.len() {
            let mut file = archive.by_index(i).map_err(|e| damaged(e.to_string()))?;
            if file.is_dir() {
                continue;
            }
            let inner = file.name().to_owned();
            if file.enclosed_name().is_none() || inner.contains('\\') {
                return Err(damaged(format!("`{inner}` would lie outside the pack")));
            }
            let mut content = Vec::new();
            let read = file.by_ref().take(left + 1).read_to_end(&mut content).map_err(|e| RuleError::Damaged {
                pack: name.to_owned(),
                file: inner.clone(),
                problem: e.to_string(),
            })?;
            left = left.checked_sub(read as u64).ok_or_else(|| too_large(name))?;
            if files.insert(inner.clone(), content).is_some() {
                return Err(damaged(format!("`{inner}` is in it twice")));
            }
        }
        Self::from_files(name, files)
    }

    /// Makes a pack of files by their path inside it.
    pub fn from_files(name: &str, files: BTreeMap<String, Vec<u8>>) -> Result<Self, RuleError> {
        let damaged =
            |file: &str, problem: String| RuleError::Damaged { pack: name.to_owned(), file: file.to_owned(), problem };
        let text = files.get("pack.toml").ok_or_else(|| damaged("pack.toml", "it is missing".to_owned()))?;
        let text = std::str::from_utf8(text).map_err(|e| damaged("pack.toml", format!("it is not UTF-8 text: {e}")))?;
        let manifest = Manifest::parse(text).map_err(|problem| damaged("pack.toml", problem))?;
        if !files.contains_key("rule.wasm") {
            return Err(damaged("rule.wasm", "it is missing".to_owned()));
        }
        Ok(Self { manifest, files })
    }

    /// Returns what the pack says of itself.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// Returns id and version, as they stand in findings: `black-cutworm 0.1.0`.
    pub fn name(&self) -> String {
        format!("{} {}", self.manifest.id, self.manifest.version)
    }

    /// Returns the files by their path inside the pack.
    pub fn files(&self) -> &BTreeMap<String, Vec<u8>> {
        &self.files
    }

    /// Returns the BLAKE3 hash of the pack's content: id, version, and every file but a signature, by path. It tells
    /// packs apart that bear the same id and version; signing a pack, or packing it anew, does not change it.
    pub fn content_hash(&self) -> [u8; 32] {
        *blake3::hash(crate::sign::list(self, "ligule rule pack content 1").as_bytes()).as_bytes()
    }

    /// Returns a copy in which a file was replaced or added; for signing and for tests.
    pub fn with_file(&self, path: &str, content: Vec<u8>) -> Result<Self, RuleError> {
        let mut files = self.files.clone();
        files.insert(path.to_owned(), content);
        Self::from_files(&self.manifest.id, files)
    }

    /// Writes a `.pack` file: a zip archive, stored, in sorted order with fixed times, so that the same files give
    /// the same bytes.
    pub fn to_bytes(&self) -> Result<Vec<u8>, RuleError> {
        let failed = |problem: String| RuleError::Host { problem: format!("cannot write a .pack file: {problem}") };
        let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Stored)
            .last_modified_time(zip::DateTime::default())
            .unix_permissions(0o644);
        for (path, content) in &self.files {
            writer.start_file(path, options).map_err(|e| failed(e.to_string()))?;
            writer.write_all(content).map_err(|e| failed(e.to_string()))?;
        }
        Ok(writer.finish().map_err(|e| failed(e.to_string()))?.into_inner())
    }

    /// Returns the rule's component.
    pub(crate) fn component(&self) -> &[u8] {
        &self.files["rule.wasm"]
    }

    /// Returns files of a folder with an ending, by the name between the two.
    pub(crate) fn folder<'a>(&'a self, folder: &'a str, ending: &'a str) -> impl Iterator<Item = (&'a str, &'a [u8])> {
        self.files.iter().filter_map(move |(path, content)| {
            let name = path.strip_prefix(folder)?.strip_prefix('/')?.strip_suffix(ending)?;
            Some((name, content.as_slice()))
        })
    }

    /// Makes the error for a file of this pack that is not what it should be.
    pub(crate) fn damaged(&self, file: impl Into<String>, problem: impl ToString) -> RuleError {
        RuleError::Damaged { pack: self.name(), file: file.into(), problem: problem.to_string() }
    }
}

fn too_large(name: &str) -> RuleError {
    RuleError::Damaged {
        pack: name.to_owned(),
        file: "the pack as a whole".to_owned(),
        problem: format!("it holds more than {} MiB or {MOST_FILES} files", MOST_BYTES >> 20),
    }
}

fn read_folder(
    folder: &Path,
    prefix: &str,
    files: &mut BTreeMap<String, Vec<u8>>,
    left: &mut u64,
) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        // Version control and editors leave files behind that are no part of a pack.
        if name.starts_with('.') || *left == 0 || files.len() > MOST_FILES {
            continue;
        }
        let kind = entry.file_type()?;
        if kind.is_dir() {
            read_folder(&entry.path(), &format!("{prefix}{name}/"), files, left)?;
        } else if kind.is_file() {
            let size = entry.metadata()?.len();
            if size >= *left {
                *left = 0;
                return Ok(());
            }
            *left -= size;
            files.insert(format!("{prefix}{name}"), fs::read(entry.path())?);
        }
    }
    Ok(())
}
