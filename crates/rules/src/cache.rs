//! Our own store of compiled code: compiling a rule takes a tenth of a second, reading it back a fraction of a
//! millisecond.
//!
//! An entry is named by the component's content and by the engine (version, processor, settings) and begins with a
//! BLAKE3 of what follows, so that a damaged entry is a miss and is never run. Whatever goes wrong here is a miss.

use std::{
    fs,
    hash::{DefaultHasher, Hash, Hasher},
    path::{Path, PathBuf},
    time::SystemTime,
};

use wasmtime::{Engine, component::Component};

/// Most entries that are kept; the least recently written go first.
const MOST_ENTRIES: usize = 64;
const HASH: usize = blake3::OUT_LEN;

/// Reads compiled code, or compiles and keeps it.
pub(crate) fn compile(engine: &Engine, component: &[u8], folder: Option<&Path>) -> wasmtime::Result<Component> {
    let Some(folder) = folder else { return Component::from_binary(engine, component) };
    let entry = entry_name(engine, component, folder);
    if let Some(compiled) = read(engine, &entry) {
        return Ok(compiled);
    }
    let compiled = Component::from_binary(engine, component)?;
    if let Err(problem) = compiled.serialize().map_err(|e| e.to_string()).and_then(|code| keep(folder, &entry, &code)) {
        tracing::debug!(entry = %entry.display(), problem, "compiled code was not kept");
    }
    Ok(compiled)
}

fn entry_name(engine: &Engine, component: &[u8], folder: &Path) -> PathBuf {
    let mut settings = DefaultHasher::new();
    engine.precompile_compatibility_hash().hash(&mut settings);
    folder.join(format!("{}-{:016x}.code", blake3::hash(component).to_hex(), settings.finish()))
}

fn read(engine: &Engine, entry: &Path) -> Option<Component> {
    let bytes = fs::read(entry).ok()?;
    let (hash, code) = bytes.split_at_checked(HASH)?;
    if blake3::hash(code).as_bytes() != hash {
        return None;
    }
    #[expect(
        unsafe_code,
        reason = "compiled code is run as it is; it was written by `keep` in a folder that only this user can write, \
                  its hash holds, and wasmtime checks version, processor and settings"
    )]
    // SAFETY: the bytes are what `Component::serialize` gave, see the reason above.
    let compiled = unsafe { Component::deserialize(engine, code) };
    compiled.ok()
}

fn keep(folder: &Path, entry: &Path, code: &[u8]) -> Result<(), String> {
    private_folder(folder).map_err(|e| e.to_string())?;
    // Another process may keep the same entry at the same time: each writes its own file, then renames it.
    let temporary = entry.with_extension(format!("{}.new", std::process::id()));
    let mut bytes = blake3::hash(code).as_bytes().to_vec();
    bytes.extend_from_slice(code);
    fs::write(&temporary, bytes).and_then(|()| fs::rename(&temporary, entry)).map_err(|e| {
        let _ = fs::remove_file(&temporary);
        e.to_string()
    })?;
    prune(folder).map_err(|e| e.to_string())
}

fn private_folder(folder: &Path) -> std::io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    fs::create_dir_all(folder)?;
    #[cfg(unix)]
    fs::set_permissions(folder, std::os::unix::fs::PermissionsExt::from_mode(0o700))?;
    Ok(())
}

fn prune(folder: &Path) -> std::io::Result<()> {
    let mut entries: Vec<(SystemTime, PathBuf)> = fs::read_dir(folder)?
        .filter_map(|e| {
            let e = e.ok()?;
            Some((e.metadata().ok()?.modified().ok()?, e.path()))
        })
        .filter(|(_, path)| path.extension().is_some_and(|e| e == "code" || e == "new"))
        .collect();
    entries.sort();
    for (_, path) in entries.iter().rev().skip(MOST_ENTRIES) {
        fs::remove_file(path)?;
    }
    Ok(())
}
