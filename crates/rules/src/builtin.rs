//! The packs that come with the program.

/// Returns the packs that come with the program: file name and bytes of each `.pack` file.
///
/// They are built from `plugins/` by `cargo xtask packs` and kept in `plugins/built/`.
pub fn builtin_packs() -> &'static [(&'static str, &'static [u8])] {
    &[
        ("black-cutworm-0.1.0.pack", include_bytes!("../../../plugins/built/black-cutworm-0.1.0.pack")),
        (
            "corn-herbicide-windows-0.1.0.pack",
            include_bytes!("../../../plugins/built/corn-herbicide-windows-0.1.0.pack"),
        ),
    ]
}
