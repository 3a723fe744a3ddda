//! Builds the rule packs of `plugins/` into `plugins/built/`.
//!
//! A rule is a WebAssembly guest with a lock file and a toolchain of its own. Two toolchains can build it: an ordinary
//! one that has the target `wasm32-unknown-unknown`, or Debian's `rustc-web`, `cargo-web`, `rust-web-src` and `lld`,
//! which compile the standard library as well. Every path of the machine is mapped away, so that the same toolchain,
//! lock file and sources give the same bytes anywhere.

use std::{
    collections::BTreeMap,
    fs,
    io::{Cursor, Write},
    path::{Path, PathBuf},
    process::Command,
};

use anyhow::{Context, Result, bail, ensure};

const TARGET: &str = "wasm32-unknown-unknown";
/// The file of a pack that says what built it.
pub(crate) const RECORD: &str = "build.toml";
/// What of a pack's source folder is shipped.
const SHIPPED: &[&str] = &["pack.toml", "README.md", "tables", "cases"];

/// A toolchain that can build the guests.
#[derive(Debug, Clone)]
pub(crate) struct Toolchain {
    cargo: PathBuf,
    rustc: PathBuf,
    /// Whether the standard library has to be compiled as well.
    build_std: bool,
}

/// A pack that was built.
#[derive(Debug)]
pub(crate) struct Built {
    /// `black-cutworm-0.1.0.pack`.
    pub(crate) name: String,
    /// The bytes of the `.pack` file.
    pub(crate) bytes: Vec<u8>,
}

/// Builds the packs: `cargo xtask packs [--to FOLDER]`.
pub(crate) fn run(args: &[String]) -> Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize()?;
    let to = match args {
        [] => root.join("plugins/built"),
        [flag, folder] if flag == "--to" => PathBuf::from(folder),
        other => bail!("expected nothing or `--to FOLDER`, got {other:?}"),
    };
    let toolchain = Toolchain::find()?;
    let target =
        std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from).join("plugins");
    fs::create_dir_all(&to)?;
    for built in build(&root, &target, &toolchain)? {
        let path = to.join(&built.name);
        let same = fs::read(&path).is_ok_and(|old| old == built.bytes);
        fs::write(&path, &built.bytes).with_context(|| format!("cannot write {}", path.display()))?;
        println!("{} {} bytes{}", path.display(), built.bytes.len(), if same { " (unchanged)" } else { "" });
    }
    Ok(())
}

impl Toolchain {
    /// Finds a toolchain; the error says how to get one.
    pub(crate) fn find() -> Result<Self> {
        let ordinary = Self { cargo: "cargo".into(), rustc: "rustc".into(), build_std: false };
        if ordinary.target_library().is_some_and(|folder| folder.is_dir()) {
            return Ok(ordinary);
        }
        let debian = Self { cargo: "/usr/bin/cargo".into(), rustc: "/usr/bin/rustc".into(), build_std: true };
        let linker = Command::new("wasm-ld").arg("--version").output().is_ok_and(|o| o.status.success());
        let sources = debian.sysroot().map(|s| s.join("lib/rustlib/src/rust/library/std"));
        if linker && debian.cargo.is_file() && sources.is_some_and(|s| s.is_dir()) {
            return Ok(debian);
        }
        bail!(
            "no toolchain for WebAssembly guests was found; run `rustup target add {TARGET}`, or on Debian \
             `apt-get install --no-install-recommends rustc-web cargo-web rust-web-src lld`"
        )
    }

    /// Returns what `rustc -vV` says: the compiler's identity.
    pub(crate) fn identity(&self) -> Result<String> {
        let output = Command::new(&self.rustc).arg("-vV").output().context("cannot run rustc")?;
        ensure!(output.status.success(), "`rustc -vV` failed");
        Ok(String::from_utf8(output.stdout)?.trim().to_owned())
    }

    fn target_library(&self) -> Option<PathBuf> {
        self.print(&["--print", "target-libdir", "--target", TARGET])
    }

    fn sysroot(&self) -> Option<PathBuf> {
        self.print(&["--print", "sysroot"])
    }

    fn print(&self, arguments: &[&str]) -> Option<PathBuf> {
        let output = Command::new(&self.rustc).args(arguments).output().ok().filter(|o| o.status.success())?;
        Some(PathBuf::from(String::from_utf8(output.stdout).ok()?.trim()))
    }
}

/// Returns the hash of the guests' lock file, as the record of a build holds it.
pub(crate) fn lock_hash(root: &Path) -> Result<String> {
    let lock = root.join("plugins/Cargo.lock");
    let bytes = fs::read(&lock).with_context(|| format!("cannot read {}", lock.display()))?;
    Ok(blake3::hash(&bytes).to_hex().to_string())
}

/// Builds every pack of `plugins/` below the folder `target`.
pub(crate) fn build(root: &Path, target: &Path, toolchain: &Toolchain) -> Result<Vec<Built>> {
    let plugins = root.join("plugins");
    compile(&stage(root, target)?, target, toolchain)?;
    let mut packs: Vec<PathBuf> = fs::read_dir(&plugins)?
        .map(|entry| Ok(entry?.path()))
        .filter(|path| path.as_ref().is_ok_and(|p| p.join("pack.toml").is_file()) || path.is_err())
        .collect::<Result<_>>()?;
    packs.sort();
    packs.iter().map(|folder| assemble(root, folder, target, toolchain)).collect()
}

/// Lays the guests' sources out below `target` as one workspace and returns its folder.
///
/// Cargo gives a package inside the workspace an identity relative to it, and one outside, such as the kit beside
/// `plugins/`, one with its whole path, which then shows in the order of the code. So that the same sources give the same
/// bytes wherever they are checked out, the kit is brought inside.
fn stage(root: &Path, target: &Path) -> Result<PathBuf> {
    let stage = target.join("source");
    let read = |path: &Path| -> Result<toml::Table> {
        let text = fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
        toml::from_str(&text).with_context(|| path.display().to_string())
    };
    let mut manifest = read(&root.join("plugins/Cargo.toml"))?;
    let host = read(&root.join("Cargo.toml"))?;
    let host = host["workspace"].as_table().context("the root manifest has a workspace")?;
    let guests = manifest["workspace"].as_table_mut().context("the manifest of the packs has a workspace")?;
    let packs: Vec<String> = guests["members"]
        .as_array()
        .context("the workspace of the packs has members")?
        .iter()
        .filter_map(|member| member.as_str().map(str::to_owned))
        .collect();
    let members = packs.iter().map(|pack| format!("plugins/{pack}")).chain([KIT.to_owned()]);
    guests.insert("members".to_owned(), members.collect::<Vec<_>>().into());
    for part in ["package", "lints"] {
        guests.insert(part.to_owned(), host[part].clone());
    }
    let mut dependencies = host["dependencies"].as_table().context("the root manifest has dependencies")?.clone();
    dependencies.retain(|name, _| name == "wit-bindgen");
    let kit = toml::Table::from_iter([("path".to_owned(), KIT.into())]);
    dependencies.insert("ligule-rule-sdk".to_owned(), kit.into());
    guests.insert("dependencies".to_owned(), dependencies.into());
    put(&stage.join("Cargo.toml"), toml::to_string(&manifest)?.as_bytes())?;
    put(&stage.join("Cargo.lock"), &fs::read(root.join("plugins/Cargo.lock"))?)?;
    let folders = packs.iter().map(|pack| format!("plugins/{pack}")).chain([KIT.to_owned()]);
    for folder in folders {
        lay(root, &stage, &format!("{folder}/src"))?;
        put(&stage.join(&folder).join("Cargo.toml"), &fs::read(root.join(&folder).join("Cargo.toml"))?)?;
    }
    lay(root, &stage, "schemas/wit")?;
    Ok(stage)
}

/// The kit with which packs are written.
const KIT: &str = "crates/rule-sdk";

/// Copies the folder `part` of one root into another.
fn lay(from: &Path, to: &Path, part: &str) -> Result<()> {
    let folder = from.join(part);
    for entry in fs::read_dir(&folder).with_context(|| format!("cannot read {}", folder.display()))? {
        let entry = entry?;
        let part = format!("{part}/{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            lay(from, to, &part)?;
        } else {
            put(&to.join(&part), &fs::read(entry.path())?)?;
        }
    }
    Ok(())
}

/// Writes a file unless it is there already with that content, so that cargo does not take it for changed.
fn put(path: &Path, content: &[u8]) -> Result<()> {
    if fs::read(path).is_ok_and(|old| old == content) {
        return Ok(());
    }
    let folder = path.parent().context("a file lies in a folder")?;
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    fs::write(path, content).with_context(|| format!("cannot write {}", path.display()))
}

fn compile(stage: &Path, target: &Path, toolchain: &Toolchain) -> Result<()> {
    let mut command = Command::new(&toolchain.cargo);
    command.current_dir(stage).args(["build", "--release", "--locked", "--target", TARGET]);
    // What the surrounding cargo set is meant for the host's build.
    let foreign = |key: &str| {
        let of_the_compiler = ["RUSTC", "RUSTFLAGS", "RUSTDOC"].iter().any(|prefix| key.starts_with(prefix));
        of_the_compiler || key.starts_with("CARGO") && key != "CARGO_HOME"
    };
    for (key, _) in std::env::vars().filter(|(key, _)| foreign(key)) {
        command.env_remove(key);
    }
    command.env("RUSTC", &toolchain.rustc).env("CARGO_TARGET_DIR", target);
    if toolchain.build_std {
        command.env("RUSTC_BOOTSTRAP", "1").arg("-Zbuild-std=std,panic_abort");
        command.env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", "wasm-ld");
    }
    command.env("CARGO_ENCODED_RUSTFLAGS", remappings(stage, target, toolchain)?.join("\u{1f}"));
    let status = command.status().with_context(|| format!("cannot run {}", toolchain.cargo.display()))?;
    ensure!(status.success(), "the guests in {} did not build; the compiler's words stand above", stage.display());
    Ok(())
}

/// Returns the flags that keep every path of this machine out of the guests.
fn remappings(stage: &Path, target: &Path, toolchain: &Toolchain) -> Result<Vec<String>> {
    let home = std::env::var_os("HOME").map(PathBuf::from).unwrap_or_default();
    let cargo_home = std::env::var_os("CARGO_HOME").map_or_else(|| home.join(".cargo"), PathBuf::from);
    let library = toolchain.sysroot().context("rustc does not tell its sysroot")?.join("lib/rustlib/src/rust");
    // Of several that fit the last one counts, so the general ones come first.
    let mut from_to = vec![(home, "/home"), (cargo_home.clone(), "/cargo")];
    // Below this folder lies one for each registry, named after its host.
    if let Ok(registries) = std::fs::read_dir(cargo_home.join("registry/src")) {
        from_to.extend(registries.flatten().map(|registry| (registry.path(), "/registry")));
    }
    from_to.extend([(target.to_owned(), "/target"), (stage.to_owned(), "/ligule"), (library, "/rust")]);
    let mut flags = Vec::new();
    for (from, to) in &from_to {
        flags.push(format!("--remap-path-prefix={}={to}", from.display()));
        if let Ok(real) = from.canonicalize()
            && real != *from
        {
            flags.push(format!("--remap-path-prefix={}={to}", real.display()));
        }
    }
    Ok(flags)
}

fn assemble(root: &Path, folder: &Path, target: &Path, toolchain: &Toolchain) -> Result<Built> {
    let id = folder.file_name().context("a pack's folder has a name")?.to_string_lossy().into_owned();
    let mut files = BTreeMap::new();
    for part in SHIPPED {
        read(&folder.join(part), part, &mut files)?;
    }
    let manifest: toml::Table =
        toml::from_str(std::str::from_utf8(&files["pack.toml"])?).with_context(|| format!("{id}/pack.toml"))?;
    let version = manifest.get("version").and_then(toml::Value::as_str).context("pack.toml has no version")?;

    let module = target.join(TARGET).join("release").join(format!("{}.wasm", id.replace('-', "_")));
    let module = fs::read(&module).with_context(|| format!("cannot read {}", module.display()))?;
    let component = wit_component::ComponentEncoder::default()
        .module(&module)
        .and_then(|encoder| encoder.validate(true).encode())
        .with_context(|| format!("{id}: the module does not make a component"))?;

    let record = format!(
        "# What built rule.wasm. The same compiler, lock file and sources give the same bytes.\n\
         component = \"{}\"\nlock = \"{}\"\nrustc = '''\n{}\n'''\n",
        blake3::hash(&component).to_hex(),
        lock_hash(root)?,
        toolchain.identity()?,
    );
    files.insert("rule.wasm".to_owned(), component);
    files.insert(RECORD.to_owned(), record.into_bytes());
    Ok(Built { name: format!("{id}-{version}.pack"), bytes: zip(&files)? })
}

fn read(path: &Path, name: &str, files: &mut BTreeMap<String, Vec<u8>>) -> Result<()> {
    if path.is_dir() {
        for entry in fs::read_dir(path)? {
            let entry = entry?;
            read(&entry.path(), &format!("{name}/{}", entry.file_name().to_string_lossy()), files)?;
        }
    } else if path.is_file() {
        files.insert(name.to_owned(), fs::read(path)?);
    }
    Ok(())
}

/// Stored, sorted, with fixed times: the same files give the same bytes.
fn zip(files: &BTreeMap<String, Vec<u8>>) -> Result<Vec<u8>> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Stored)
        .last_modified_time(zip::DateTime::default())
        .unix_permissions(0o644);
    for (name, content) in files {
        writer.start_file(name, options)?;
        writer.write_all(content)?;
    }
    Ok(writer.finish()?.into_inner())
}
