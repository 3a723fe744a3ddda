//! The arguments of what makes, draws and joins fields, and of growers, planters and soils.

use std::path::PathBuf;

use clap::builder::PossibleValuesParser;
use clap::{Args, Subcommand};

#[derive(Debug, Args)]
pub(crate) struct FieldList {
    /// Retired fields too, not only those with an open re-entry interval.
    #[arg(long)]
    pub(crate) retired: bool,
}

#[derive(Debug, Args)]
pub(crate) struct FieldImport {
    /// The file of outlines: `.geojson`, `.json`, `.kml`, `.kmz`, `.shp` with `.dbf` and `.prj` beside it, or a `.zip` of these.
    pub(crate) file: PathBuf,
    /// The property that names the field; guessed from its name where it is not said.
    #[arg(long, value_name = "PROPERTY")]
    pub(crate) name_from: Option<String>,
    /// The property that names the grower; guessed from its name where it is not said.
    #[arg(long, value_name = "PROPERTY")]
    pub(crate) grower_from: Option<String>,
    /// The grower of new fields of which the file names none.
    #[arg(long, value_name = "NAME", default_value = "")]
    pub(crate) grower: String,
    /// State or province of new fields, ISO 3166-2: `US-IA`, `CA-ON`.
    #[arg(long, value_name = "CODE", default_value = "")]
    pub(crate) region: String,
    /// IANA time zone of new fields.
    #[arg(long, value_name = "ZONE", default_value = "")]
    pub(crate) zone: String,
    /// The crop of new fields.
    #[arg(long, value_name = "CROP", ignore_case = true, value_parser = crate::args::crop())]
    pub(crate) crop: Option<String>,
    /// Usual row width of new fields.
    #[arg(long, value_name = "WIDTH", allow_hyphen_values = true)]
    pub(crate) row: Option<String>,
    /// Take the outlines that hold, and leave the others out.
    #[arg(long)]
    pub(crate) keep_good: bool,
}

#[derive(Debug, Args)]
pub(crate) struct FieldBoundary {
    /// The field, by name or id.
    pub(crate) field: String,
    /// The file of outlines: `.geojson`, `.json`, `.kml`, `.kmz`, `.shp` with `.dbf` and `.prj` beside it, or a `.zip` of these.
    pub(crate) file: PathBuf,
    /// Which outline of the file, by any of its properties; needed where there are several.
    #[arg(long, value_name = "NAME")]
    pub(crate) outline: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct FieldExport {
    /// The file to write: GeoJSON.
    pub(crate) file: PathBuf,
    /// Retired fields too.
    #[arg(long)]
    pub(crate) retired: bool,
}

#[derive(Debug, Args)]
pub(crate) struct FieldMerge {
    /// The field that is spoken of from now on, by name or id.
    pub(crate) field: String,
    /// The field that becomes part of it, by name or id [default: all others of the same name].
    #[arg(conflicts_with = "undo")]
    pub(crate) other: Option<String>,
    /// Take FIELD out of those that it was made part of.
    #[arg(long)]
    pub(crate) undo: bool,
}

#[derive(Debug, Args)]
pub(crate) struct FieldSplit {
    /// The field, by name or id.
    pub(crate) field: String,
    /// The name of a part; repeat for each.
    #[arg(long, value_name = "NAME", required = true)]
    pub(crate) into: Vec<String>,
    /// A file of outlines that bear the parts' names.
    #[arg(long, value_name = "FILE")]
    pub(crate) boundaries: Option<PathBuf>,
    /// Leave this season's planting with the whole, instead of copying it to each part.
    #[arg(long)]
    pub(crate) no_planting: bool,
}

#[derive(Debug, Args)]
pub(crate) struct FieldDoubles {
    /// The field, by name or id [default: all].
    pub(crate) field: Option<String>,
    /// Mark as void the second of each two that say the same; it stays in its history.
    #[arg(long)]
    pub(crate) void: bool,
}

#[derive(Debug, Args)]
pub(crate) struct FieldRetire {
    /// The field, by name or id.
    pub(crate) field: String,
    /// Take it into the lists again.
    #[arg(long)]
    pub(crate) undo: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Grower {
    /// Add a grower
    #[command(after_help = "Example:\n  ligule grower add \"Sorrel Creek\"")]
    Add(GrowerAdd),
    /// List the growers
    #[command(after_help = "Example:\n  ligule grower list --format csv")]
    List(RosterList),
    /// Take a grower out of the list
    #[command(after_help = "Example:\n  ligule grower retire \"Sorrel Creek\"")]
    Retire(RosterName),
}

#[derive(Debug, Args)]
pub(crate) struct GrowerAdd {
    /// What people call the grower.
    pub(crate) name: String,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Planter {
    /// Add a planter, or correct it; a planting that names it has its row units and row width
    #[command(after_help = "Example:\n  ligule planter add \"sixteen-row\" --row-units 16 --row 30in")]
    Add(PlanterAdd),
    /// List the planters
    #[command(after_help = "Example:\n  ligule planter list --format csv")]
    List(RosterList),
    /// Take a planter out of the list
    #[command(after_help = "Example:\n  ligule planter retire \"sixteen-row\"")]
    Retire(RosterName),
}

#[derive(Debug, Args)]
pub(crate) struct PlanterAdd {
    /// What people call it.
    pub(crate) name: String,
    /// Its row units.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=60))]
    pub(crate) row_units: Option<u32>,
    /// Its row width.
    #[arg(long, value_name = "WIDTH", allow_hyphen_values = true)]
    pub(crate) row: Option<String>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Soil {
    /// Add a soil, or correct it; `ligule field amend FIELD --soil NAME` says which field has it
    #[command(after_help = "Example:\n  ligule soil add \"creek bottom\" --map-unit 133A --texture silty-clay-loam")]
    Add(SoilAdd),
    /// List the soils
    #[command(after_help = "Example:\n  ligule soil list --format csv")]
    List(RosterList),
    /// Take a soil out of the list
    #[command(after_help = "Example:\n  ligule soil retire \"creek bottom\"")]
    Retire(RosterName),
}

#[derive(Debug, Args)]
pub(crate) struct SoilAdd {
    /// What people call it.
    pub(crate) name: String,
    /// The symbol of its map unit in the soil survey.
    #[arg(long, value_name = "SYMBOL")]
    pub(crate) map_unit: Option<String>,
    /// Its texture class.
    #[arg(long, value_name = "CLASS", value_parser = PossibleValuesParser::new(ligule_engine::TEXTURES))]
    pub(crate) texture: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct RosterList {
    /// Retired ones too.
    #[arg(long)]
    pub(crate) retired: bool,
}

#[derive(Debug, Args)]
pub(crate) struct RosterName {
    /// The name, as the list shows it.
    pub(crate) name: String,
}
