//! The arguments of what exchanges records and photos, over the network and as a file.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::args::Listen;

#[derive(Debug, Subcommand)]
pub(crate) enum Sync {
    /// Wait for other devices of the crew and exchange records, then photos, with each
    #[command(after_help = "Example:\n  ligule sync serve --listen 192.168.1.20:7010")]
    Serve(Serve),
    /// Exchange records, then photos, with a device that waits: by its address or, without one, by looking on the local
    /// network
    #[command(
        after_help = "Examples:\n  ligule sync with 192.168.1.20:7010\n  ligule sync with\n  ligule sync with 192.168.1.20:7010 --no-photos"
    )]
    With(With),
}

#[derive(Debug, Args)]
pub(crate) struct Serve {
    #[command(flatten)]
    pub(crate) listen: Listen,
    /// Stop after this many exchanges.
    #[arg(long, value_name = "N")]
    pub(crate) exchanges: Option<u32>,
    /// Do not announce this device on the local network.
    #[arg(long)]
    pub(crate) quiet_network: bool,
    #[command(flatten)]
    pub(crate) photos: WithoutPhotos,
}

#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct WithoutPhotos {
    /// Exchange the records alone; photos stay where they are.
    #[arg(long)]
    pub(crate) no_photos: bool,
}

#[derive(Debug, Args)]
pub(crate) struct With {
    /// Where the other device waits: `IP:PORT`, or `IP:PORT#DEVICE` for one that this device does not know yet.
    pub(crate) address: Option<String>,
    #[command(flatten)]
    pub(crate) photos: WithoutPhotos,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Bundle {
    /// Write all records into a file, photos too if they are asked for
    #[command(
        after_help = "Examples:\n  ligule bundle write /media/stick/monday.ligule-bundle\n  ligule bundle write --photos /media/stick/monday.ligule-bundle"
    )]
    Write(BundleWrite),
    /// Take the records of a bundle in, and its photos where it has any
    #[command(after_help = "Example:\n  ligule bundle read /media/stick/monday.ligule-bundle")]
    Read(BundleFile),
}

#[derive(Debug, Args)]
pub(crate) struct BundleFile {
    /// The file.
    pub(crate) file: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct BundleWrite {
    /// The file.
    pub(crate) file: PathBuf,
    /// Put every photo that is on this device into it too.
    #[arg(long)]
    pub(crate) photos: bool,
}
