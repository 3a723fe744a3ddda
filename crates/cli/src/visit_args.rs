//! The arguments of `visit`.

use clap::{Args, Subcommand};

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(crate) struct VisitArgs {
    #[command(flatten)]
    pub(crate) start: VisitStart,
    #[command(subcommand)]
    pub(crate) command: Option<VisitCommand>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum VisitCommand {
    /// Begin a visit, or go on with one that was stopped; what `ligule visit FIELD` does
    #[command(after_help = "Example:\n  ligule visit start north-40")]
    Start(VisitStart),
    /// List a field's visits, the latest first
    #[command(after_help = "Example:\n  ligule visit list north-40 --season 2026")]
    List(VisitList),
    /// Show a visit with its observations, void ones too
    #[command(after_help = "Example:\n  ligule visit show 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1")]
    Show(VisitShow),
    /// Put a visit that was recorded on the wrong field where it belongs
    ///
    /// Its observations are copied there with their author, times and places, and voided where they were, with a link to the
    /// copy. A correction that another device makes meanwhile, or that it moves the visit to another field, waits under
    /// `ligule conflicts`.
    #[command(after_help = "Example:\n  ligule visit move 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1 south-12 --why \"wrong gate\"")]
    Move(VisitMove),
}

#[derive(Debug, Args)]
pub(crate) struct VisitStart {
    /// The field, by its name; one called as a subcommand is, after `start`.
    pub(crate) field: Option<String>,
    /// When the visit was, where it is written down later: `2026-05-28T07:40`, in the field's time zone [default: now].
    #[arg(long, value_name = "TIME")]
    pub(crate) at: Option<String>,
    /// Where, in degrees: `42.03,-93.62`; without FIELD it finds the field by its boundary.
    #[arg(long, value_name = "LAT,LON", allow_hyphen_values = true)]
    pub(crate) near: Option<String>,
    /// Who observes [default: the person of this journal].
    #[arg(long, value_name = "NAME")]
    pub(crate) by: Option<String>,
    /// Ask for these kinds, in this order [default: those of the field's crop and stage].
    #[arg(long, value_name = "KIND,…", value_delimiter = ',')]
    pub(crate) kinds: Vec<String>,
    /// Begin anew, though a visit was stopped; what was recorded on it stays.
    #[arg(long)]
    pub(crate) new: bool,
}

#[derive(Debug, Args)]
pub(crate) struct VisitList {
    /// The field, by its name.
    pub(crate) field: String,
    /// Only of this season, the year of harvest.
    #[arg(long, value_name = "YEAR")]
    pub(crate) season: Option<i32>,
}

#[derive(Debug, Args)]
pub(crate) struct VisitShow {
    /// The visit, the beginning of it, or the key of one of its observations.
    pub(crate) visit: String,
}

#[derive(Debug, Args)]
pub(crate) struct VisitMove {
    /// The visit, the beginning of it, or the key of one of its observations.
    pub(crate) visit: String,
    /// The field where it belongs.
    pub(crate) field: String,
    /// Why, beside the link to the copy.
    #[arg(long, value_name = "REASON")]
    pub(crate) why: Option<String>,
}
