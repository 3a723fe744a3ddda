//! The arguments of what looks after photos, and those with which they are recorded.

use std::path::PathBuf;

use clap::{Arg, ArgAction, ArgGroup, Args, Command, Subcommand, value_parser};

#[derive(Debug, Subcommand)]
pub(crate) enum Photo {
    /// List the photos that are recorded, and whether they are on this device
    #[command(after_help = "Example:\n  ligule photo list north-40 --format csv")]
    List(PhotoList),
    /// Show all that is known of a photo, and where its file lies
    #[command(after_help = "Example:\n  ligule photo show a7ffc6f8")]
    Show(PhotoName),
    /// Copy a photo, byte for byte, to another file or into a folder
    #[command(after_help = "Example:\n  ligule photo export a7ffc6f8 gaps.jpg")]
    Export(PhotoExport),
    /// Read every photo and tell which are missing or damaged; nothing is deleted
    #[command(after_help = "Example:\n  ligule photo verify")]
    Verify,
}

#[derive(Debug, Args)]
pub(crate) struct PhotoList {
    /// Only of this field.
    pub(crate) field: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct PhotoName {
    /// The observation, or the hash, of which the first 8 digits will do.
    pub(crate) photo: String,
}

#[derive(Debug, Args)]
pub(crate) struct PhotoExport {
    /// The observation, or the hash, of which the first 8 digits will do.
    pub(crate) photo: String,
    /// The file to write, which must not be there yet, or a folder.
    pub(crate) into: PathBuf,
}

/// Lets files be named where photos are recorded; what the files tell need not be typed then. `field` is what stands for the
/// field in how the command is used.
pub(crate) fn with_files(record: Command, field: &str) -> Command {
    record
        // What clap makes of the group would put the file before the field.
        .override_usage(format!("ligule record photo [OPTIONS] <{field}> <FILE>..."))
        .mut_arg("content", |arg| arg.required(false).requires("media_type"))
        .mut_arg("media_type", |arg| arg.required(false))
        // Whoever leaves out the field is asked for a file, and not for a hash.
        .group(ArgGroup::new("picture").args(["files", "content"]).required(true))
        .arg(
            Arg::new("files")
                .value_name("FILE")
                .num_args(1..)
                .value_parser(value_parser!(PathBuf))
                .conflicts_with_all(["content", "media_type", "bytes"])
                .help("Pictures to keep beside the journal and record: JPEG, PNG, HEIC, WebP or TIFF, at most 200 MB each"),
        )
        .arg(
            Arg::new("from-exif")
                .long("from-exif")
                .action(ArgAction::SetTrue)
                .requires("files")
                .help("Take time and place from what the camera wrote (EXIF), where `--at` and `--near` do not say them"),
        )
        .after_help(
            "Examples:\n  ligule record photo north-40 IMG_0412.jpg --caption \"Row 3, gaps\"\n  ligule record photo north-40 --from-exif IMG_0412.jpg IMG_0413.jpg",
        )
}
