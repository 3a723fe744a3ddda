//! The arguments of every command but `record` and `amend`, whose flags come from the kinds' own files.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

use crate::field_args::{
    FieldBoundary, FieldDoubles, FieldExport, FieldImport, FieldList, FieldMerge, FieldRetire, FieldSplit, Grower,
    Planter, Soil,
};
use crate::photo_args::Photo;
use crate::sync_args::{Bundle, Sync};
use crate::visit_args::VisitArgs;

/// Field records and decisions for crop advisers, offline first.
#[derive(Debug, Parser)]
#[command(
    name = "ligule",
    version,
    propagate_version = true,
    subcommand_required = true,
    arg_required_else_help = true
)]
#[command(
    after_help = "Examples:\n  ligule demo                    see all of it work on an invented season\n  ligule init --person \"Your Name\"  start a journal on this device"
)]
pub(crate) struct Cli {
    #[command(flatten)]
    pub(crate) global: Global,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// What every command accepts.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Everywhere")]
pub(crate) struct Global {
    /// Folder of this device's journal [default: `ligule` in the user's data folder].
    #[arg(long, global = true, env = "LIGULE_JOURNAL", value_name = "FOLDER")]
    pub(crate) journal: Option<PathBuf>,
    /// Folder or address of the season archive [default: `archive` in the journal's folder].
    #[arg(long, global = true, env = "LIGULE_ARCHIVE", value_name = "PLACE")]
    pub(crate) archive: Option<String>,
    /// Units in which quantities are told, `us` or `metric` [default: what the crew has set, else `us`].
    #[arg(long, global = true, env = "LIGULE_UNITS", value_name = "SYSTEM")]
    pub(crate) unit_system: Option<String>,
    /// Language in which a scout is answered, `en` or `es` [default: what the crew has set, else `en`].
    #[arg(long, global = true, env = "LIGULE_LANGUAGE", value_name = "LANGUAGE")]
    pub(crate) language: Option<String>,
    /// How listings are written.
    #[arg(long, global = true, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Print more about what is being done, to the error stream; repeat for more.
    #[arg(short, long, global = true, action = clap::ArgAction::Count)]
    pub(crate) verbose: u8,
}

/// How a listing is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people.
    Text,
    /// Comma-separated values with a header.
    Csv,
    /// One JSON document.
    Json,
    /// One JSON object a line.
    Ndjson,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Start a journal on this device
    #[command(after_help = "Example:\n  ligule init --person \"Imke Voss\" --crew \"Sorrel Creek\"")]
    Init(Init),
    /// Add, draw, list, merge, split and retire fields
    #[command(subcommand, after_help = "Example:\n  ligule field list")]
    Field(Field),
    /// Keep the growers whose fields the crew looks after
    #[command(subcommand, after_help = "Example:\n  ligule grower list")]
    Grower(Grower),
    /// Keep the planters, with row units and row width
    #[command(subcommand, after_help = "Example:\n  ligule planter list")]
    Planter(Planter),
    /// Keep the soils, with map unit and texture class
    #[command(subcommand, after_help = "Example:\n  ligule soil list")]
    Soil(Soil),
    /// Show what can be observed, with measures, units and ranges
    #[command(after_help = "Examples:\n  ligule kind\n  ligule kind stand-count\n  ligule kind pest-count --codes")]
    Kind(KindArgs),
    /// Record one observation, or many from a file of lines
    ///
    /// Each kind of observation is a subcommand; its flags are the kind's measures. Quantities are written as people
    /// write them: `30in`, `17ft5in`, `76 cm`, `1 3/4 in`. "recorded" is printed once the bytes are on the disk.
    #[command(
        after_help = "Examples:\n  ligule record stand-count north-40 --row 30in --length 17ft5in --plants 31\n  ligule record leaf-stage north-40 --collars \"4 4 5 4 3\"\n  ligule record --lines morning.txt"
    )]
    Record(RecordLines),
    /// Visit a field in one sitting; list, show and move visits
    ///
    /// Asks in the order of the protocol for the kinds that the field's crop and stage ask for, one answer a line, and tells
    /// how many more samples are needed. Every answer is on the disk before the next question: whatever ends the program, the
    /// next `ligule visit FIELD` goes on. `help` as an answer tells how the sample is taken and which words steer.
    #[command(
        after_help = "Examples:\n  ligule visit north-40\n  ligule visit north-40 --kinds stand-count,leaf-stage\n  ligule visit list north-40\n  ligule visit move 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1 south-12"
    )]
    Visit(VisitArgs),
    /// Correct measures of an observation; the old values stay in its history
    #[command(after_help = "Example:\n  ligule amend 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-01 --plants 29")]
    Amend(Amend),
    /// Take an observation out of every answer, with a reason; it stays in its history
    #[command(after_help = "Example:\n  ligule void 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-01 --why \"wrong field\"")]
    Void(VoidArgs),
    /// List observations
    #[command(
        after_help = "Examples:\n  ligule list north-40\n  ligule list --kind stand-count --season 2026 --format csv"
    )]
    List(List),
    /// Show every value an observation ever had, by whom, when and on which device
    #[command(after_help = "Example:\n  ligule history 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-01")]
    History(Observation),
    /// Show concurrent corrections that wait for a person, with every candidate
    #[command(after_help = "Example:\n  ligule conflicts")]
    Conflicts,
    /// Resolve a conflict by writing the value that holds
    #[command(after_help = "Example:\n  ligule resolve 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-01 plants 29")]
    Resolve(Resolve),
    /// Bring in data that others recorded
    #[command(
        subcommand,
        after_help = "Examples:\n  ligule import observations counts.csv\n  ligule import weather days.csv --station home"
    )]
    Import(Import),
    /// Work out stand, stage, depth and degree days of a field
    #[command(after_help = "Example:\n  ligule assess north-40 --as-of 2026-05-28")]
    Assess(FieldDay),
    /// Print a built-in table with the source of every row
    #[command(after_help = "Examples:\n  ligule table\n  ligule table row-length --format csv")]
    Table(TableArgs),
    /// Work a formula from the command line, with units, showing the steps
    ///
    /// Each worksheet is a subcommand; its inputs are written as people write them: `30in`, `76 cm`, `86F`. Without a name the
    /// worksheets are listed. Machine-readable results are unrounded.
    #[command(
        after_help = "Examples:\n  ligule calc\n  ligule calc row-length --row 30in\n  ligule calc row-length --help"
    )]
    Calc,
    /// See who belongs to the crew, invite a device, join
    #[command(subcommand, after_help = "Example:\n  ligule crew show")]
    Crew(Crew),
    /// Exchange records with other devices of the crew
    #[command(subcommand, after_help = "Example:\n  ligule sync serve")]
    Sync(Sync),
    /// Carry records as a file where no network reaches
    #[command(subcommand, after_help = "Example:\n  ligule bundle write monday.ligule-bundle")]
    Bundle(Bundle),
    /// Write recorded seasons into the Parquet archive
    #[command(after_help = "Example:\n  ligule compact --season 2025")]
    Compact(Compact),
    /// Look at the archive's files and check them
    #[command(subcommand, after_help = "Example:\n  ligule archive verify")]
    Archive(Archive),
    /// Ask the archive and the journal a question in SQL
    #[command(
        after_help = "Examples:\n  ligule query \"SELECT field_name, count(*) FROM stand_count GROUP BY field_name\"\n  ligule query --tables\n  ligule query --describe stand_count"
    )]
    Query(Query),
    /// Run the rule packs of a field's region on its records
    #[command(after_help = "Example:\n  ligule advise north-40 --as-of 2026-05-28")]
    Advise(Advise),
    /// See rule packs and check them
    #[command(subcommand, after_help = "Example:\n  ligule pack list")]
    Pack(Pack),
    /// Write a field's visit report as one HTML page
    #[command(after_help = "Example:\n  ligule report north-40 --out north-40.html")]
    Report(Report),
    /// List, show, hand out and verify photos, which are kept beside the journal
    #[command(subcommand, after_help = "Example:\n  ligule photo list north-40")]
    Photo(Photo),
    /// Check, rebuild or condense this device's journal, write it out and read it in
    #[command(subcommand, after_help = "Example:\n  ligule journal verify")]
    Journal(Journal),
    /// Copy everything that this device holds into a new folder, while others write
    ///
    /// The copy is this same device. Where the journal is lost, put the folder in its place (`cp -r backups/monday JOURNAL`)
    /// and sync: other devices of the crew bring what was recorded since. It holds the device's secret key: keep it as
    /// private as the journal. The season archive is not in it; `ligule compact` writes it anew.
    #[command(after_help = "Example:\n  ligule backup /media/stick/journal-2026-05-28")]
    Backup(Backup),
    /// See the whole of it work on an invented season, in a new folder
    #[command(after_help = "Example:\n  ligule demo --into ligule-demo")]
    Demo(Demo),
    /// Print a completion script for a shell
    #[command(after_help = "Example:\n  ligule completions bash > ligule.bash")]
    Completions(Completions),
    /// Write the manual pages into a folder
    #[command(after_help = "Example:\n  ligule manual man/")]
    Manual(Manual),
}

#[derive(Debug, Args)]
pub(crate) struct TableArgs {
    /// The table; `list`, or nothing, lists them.
    pub(crate) name: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Init {
    /// The person who records on this device.
    #[arg(long, value_name = "NAME")]
    pub(crate) person: String,
    /// The crew's name, shown to people who are invited.
    #[arg(long, value_name = "NAME", default_value = "my crew")]
    pub(crate) crew: String,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Field {
    /// Add a field
    #[command(
        after_help = "Example:\n  ligule field add north-40 --grower \"Sorrel Creek\" --region US-IA --zone America/Chicago --crop corn --row 30in"
    )]
    Add(Box<FieldAdd>),
    /// Correct a field: its name, crop, row width, station …
    #[command(after_help = "Example:\n  ligule field amend north-40 --crop soybean --row 15in")]
    Amend(Box<FieldAmend>),
    /// List the fields
    ///
    /// As JSON each has its boundary, as a GeoJSON geometry.
    #[command(after_help = "Example:\n  ligule field list --format csv")]
    List(FieldList),
    /// Bring in fields and their boundaries from GeoJSON, KML, KMZ or a Shapefile
    ///
    /// A field of the name gets the boundary, and the area that follows from it; where there is none, one is added. All or
    /// nothing, unless `--keep-good`. Importing a file again changes nothing. Coordinates are longitude and latitude on
    /// WGS 84; those on NAD 83 are taken with a note, and anything else is refused.
    #[command(
        after_help = "Examples:\n  ligule field import fields.geojson --region US-IA --zone America/Chicago --grower \"Sorrel Creek\"\n  ligule field import fields.shp --name-from FLD_NM --grower-from OWNER --region US-IA --zone America/Chicago"
    )]
    Import(Box<FieldImport>),
    /// Draw a field's boundary from a file; its area follows from it
    #[command(after_help = "Example:\n  ligule field boundary north-40 north-40.kml")]
    Boundary(FieldBoundary),
    /// Write the fields with their boundaries as GeoJSON
    #[command(after_help = "Example:\n  ligule field export fields.geojson")]
    Export(FieldExport),
    /// Make two fields one, where two devices added the same
    ///
    /// Every answer speaks of one field from then on, and takes the records of both together, also those that a device
    /// makes later that has not heard of it. Entries of FIELD hold; what it lacks it has from the other.
    #[command(
        after_help = "Examples:\n  ligule field merge north-40\n  ligule field merge north-40 north-forty\n  ligule field merge --undo north-forty"
    )]
    Merge(FieldMerge),
    /// Show observations that are there twice
    ///
    /// Two devices imported one sheet before their fields were merged; or one moved to the right field what it had imported,
    /// and another imported the corrected sheet; or parts of fields that were split are one again, each with its copy of one
    /// planting; or two devices split one field two ways, and the parts of one way, with their copies, were retired.
    #[command(after_help = "Examples:\n  ligule field doubles north-40\n  ligule field doubles north-40 --void")]
    Doubles(FieldDoubles),
    /// Divide a field into new ones with its entries; it is retired, and its records stay with it
    ///
    /// Each part has a copy of this season's planting, which tells its original (`ligule history`).
    #[command(
        after_help = "Example:\n  ligule field split north-40 --into north-40-a --into north-40-b --boundaries parts.geojson"
    )]
    Split(FieldSplit),
    /// Take a field out of the lists; its records stay
    ///
    /// As long as a re-entry interval is open on it, `field list` shows it all the same.
    #[command(after_help = "Example:\n  ligule field retire north-40")]
    Retire(FieldRetire),
}

#[derive(Debug, Args)]
pub(crate) struct FieldAdd {
    /// A short name without blanks, unique in the crew: `north-40`.
    pub(crate) name: String,
    /// The grower who farms it.
    #[arg(long, value_name = "NAME")]
    pub(crate) grower: String,
    /// State or province, ISO 3166-2: `US-IA`, `CA-ON`.
    #[arg(long, value_name = "CODE")]
    pub(crate) region: String,
    /// IANA time zone; a day is the field's day.
    #[arg(long, value_name = "ZONE")]
    pub(crate) zone: String,
    #[command(flatten)]
    pub(crate) entries: FieldEntries,
}

#[derive(Debug, Args)]
pub(crate) struct FieldAmend {
    /// The field, by name or id.
    pub(crate) field: String,
    /// Its new name.
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    /// The grower who farms it.
    #[arg(long, value_name = "NAME")]
    pub(crate) grower: Option<String>,
    /// State or province, ISO 3166-2: `US-IA`, `CA-ON`.
    #[arg(long, value_name = "CODE")]
    pub(crate) region: Option<String>,
    /// IANA time zone.
    #[arg(long, value_name = "ZONE")]
    pub(crate) zone: Option<String>,
    #[command(flatten)]
    pub(crate) entries: FieldEntries,
}

/// Reads a crop by its code or by what it is called in Spanish.
pub(crate) fn crop() -> impl TypedValueParser<Value = String> {
    let crops = [
        PossibleValue::new("corn").aliases(["maiz", "maíz"]),
        PossibleValue::new("soybean").aliases(["soybeans", "soya", "soja"]),
    ];
    PossibleValuesParser::new(crops).map(|typed| match typed.to_lowercase().as_str() {
        "corn" | "maiz" | "maíz" => "corn".to_owned(),
        _ => "soybean".to_owned(),
    })
}

/// What may be known of a field.
#[derive(Debug, Args)]
pub(crate) struct FieldEntries {
    /// The crop this season.
    #[arg(long, value_name = "CROP", ignore_case = true, value_parser = crop())]
    pub(crate) crop: Option<String>,
    /// Usual row width, offered where a count does not say.
    #[arg(long, value_name = "WIDTH", allow_hyphen_values = true)]
    pub(crate) row: Option<String>,
    /// Area: `40ac`, `16.2ha`.
    #[arg(long, value_name = "AREA", allow_hyphen_values = true)]
    pub(crate) area: Option<String>,
    /// Latitude and longitude in degrees: `42.03,-93.62`.
    #[arg(long, value_name = "LAT,LON", allow_hyphen_values = true)]
    pub(crate) near: Option<String>,
    /// Weather station whose days stand for the field's.
    #[arg(long, value_name = "STATION")]
    pub(crate) station: Option<String>,
    /// Its soil, by the name under which `ligule soil` keeps it.
    #[arg(long, value_name = "NAME")]
    pub(crate) soil: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct KindArgs {
    /// The kind; without it all are listed.
    pub(crate) kind: Option<String>,
    /// List the codes from which its measures are chosen.
    #[arg(long, requires = "kind")]
    pub(crate) codes: bool,
}

#[derive(Debug, Args)]
pub(crate) struct RecordLines {
    /// A file of lines, each as one would type it after `ligule record`; `-` reads standard input.
    ///
    /// A line `photo FIELD FILE…` keeps pictures, whose files are looked for where the program was started.
    /// All lines are read and checked first: one that does not hold, and nothing is recorded. They are recorded all or
    /// nothing, also if the program is killed: whichever command comes next finishes what was cut short, and says so.
    #[arg(long, value_name = "FILE")]
    pub(crate) lines: Option<PathBuf>,
    /// Record times that lie in the future of this device's clock.
    #[arg(long)]
    pub(crate) accept_time: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Amend {
    /// The observation, as `ligule list` shows it.
    pub(crate) observation: String,
    /// Measures and their new values, as flags: `--plants 29`; `--accept-time` lets days in the future pass.
    #[arg(trailing_var_arg = true, allow_hyphen_values = true, required = true, value_name = "--MEASURE VALUE")]
    pub(crate) values: Vec<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Observation {
    /// The observation, as `ligule list` shows it.
    pub(crate) observation: String,
}

#[derive(Debug, Args)]
pub(crate) struct VoidArgs {
    /// The observation, as `ligule list` shows it.
    pub(crate) observation: String,
    /// Why it does not hold.
    #[arg(long, value_name = "REASON")]
    pub(crate) why: String,
}

#[derive(Debug, Args)]
pub(crate) struct Resolve {
    /// The observation, as `ligule conflicts` shows it.
    pub(crate) observation: String,
    /// The measure, by its name or as `ligule amend` takes it: `plants`, `--plants`.
    #[arg(allow_hyphen_values = true)]
    pub(crate) measure: String,
    /// The value that holds.
    #[arg(allow_hyphen_values = true)]
    pub(crate) value: String,
}

#[derive(Debug, Args)]
pub(crate) struct List {
    /// The field; without it all.
    pub(crate) field: Option<String>,
    /// Only this kind.
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Only this season (year of harvest).
    #[arg(long, value_name = "YEAR")]
    pub(crate) season: Option<i32>,
    /// Voided observations too.
    #[arg(long)]
    pub(crate) voided: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Import {
    /// Read daily weather: GHCN-Daily `.dly` or CSV by station, or a plain CSV with units in its header
    #[command(
        after_help = "Examples:\n  ligule import weather USC00130000.dly\n  ligule import weather days.csv --station home    (header: date,tmin_c,tmax_c,precip_mm)"
    )]
    Weather(ImportWeather),
    /// Read a sheet of observations: CSV, or XLSX of a spreadsheet program
    ///
    /// What each column tells is guessed from its name, shown, and asked about; the answer is kept for the next sheet with the
    /// same columns. Where nobody can be asked (in a pipe), `--yes` or `--mapping` confirms. Every row is checked as a typed
    /// line is; one that does not hold or says something else than an earlier import, and nothing is recorded, unless
    /// `--keep-good`. The rows are recorded all or nothing, also if the program is killed: whichever command comes next
    /// finishes what was cut short, and says so. Importing a sheet again adds nothing.
    #[command(
        after_help = "Examples:\n  ligule import observations counts.csv --dry-run\n  ligule import observations counts.xlsx --kind stand-count --column \"Wd=row in cm\" --dates dmy\n  ligule import observations counts.csv --yes --keep-good --format json"
    )]
    Observations(Box<ImportObservations>),
    /// See and remove the mappings of columns that are kept
    #[command(subcommand, after_help = "Example:\n  ligule import mapping list")]
    Mapping(ImportMapping),
}

#[derive(Debug, Args)]
pub(crate) struct ImportObservations {
    /// The sheet.
    pub(crate) file: PathBuf,
    /// The kind of every row; guessed from the columns unless one tells it.
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// The field, for rows that do not tell it.
    #[arg(long)]
    pub(crate) field: Option<String>,
    /// The day or time, for rows that do not tell it: `2026-05-28`, `2026-05-28T07:40`.
    #[arg(long, value_name = "TIME")]
    pub(crate) on: Option<String>,
    /// Who observed, for rows that do not tell it [default: the person of this journal].
    #[arg(long, value_name = "NAME")]
    pub(crate) by: Option<String>,
    /// What a column tells, where the guess is wrong; repeat for more.
    ///
    /// A measure, perhaps with its unit (`Wd=row in cm`), `unit-of MEASURE`, or one of `field`, `kind`, `day` (perhaps with
    /// the time), `time`, `by`, `place` (latitude and longitude), `latitude`, `longitude`, `nothing`. A sheet with a row for
    /// each value has `measure-name`, `value`, `unit`, and `sample` where a number tells which rows belong together.
    #[arg(long, value_name = "NAME=MEANING", value_parser = column)]
    pub(crate) column: Vec<(String, String)>,
    /// Use a mapping that is kept, or a file of one.
    #[arg(long, value_name = "NAME|FILE")]
    pub(crate) mapping: Option<String>,
    /// The name under which to keep the mapping [default: that of the kind].
    #[arg(long, value_name = "NAME")]
    pub(crate) keep_as: Option<String>,
    /// Record without asking whether the mapping is right.
    #[arg(short, long)]
    pub(crate) yes: bool,
    /// Show what would be recorded, and record nothing.
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// Record the rows that hold, and leave the others out.
    #[arg(long)]
    pub(crate) keep_good: bool,
    /// Record rows that differ from an earlier import of the same field, time and person as further samples.
    ///
    /// With `--further=all` every row is one, also where another sheet said the same: two people counted 31 plants, each in a
    /// sheet of their own. Sheets are told apart by the file's name; the same name again adds nothing. Say it when a sheet is
    /// imported first.
    #[arg(long, value_enum, value_name = "WHICH", num_args = 0..=1, require_equals = true, default_missing_value = "differing")]
    pub(crate) further: Option<Further>,
    /// The order of dates of numbers alone; `serial` are days since 1899, as spreadsheets keep them.
    #[arg(long, value_enum)]
    pub(crate) dates: Option<Dates>,
    /// What stands before the decimals of a number.
    #[arg(long, value_enum)]
    pub(crate) decimal: Option<Decimal>,
    /// How a CSV file is encoded [default: utf-8].
    #[arg(long, value_enum)]
    pub(crate) encoding: Option<Encoding>,
    /// The sheet, of a workbook of several.
    #[arg(long, value_name = "NAME")]
    pub(crate) sheet: Option<String>,
    /// The row that names the columns [default: the first that is not empty].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub(crate) header_row: Option<u64>,
    /// Record times that lie in the future of this device's clock.
    #[arg(long)]
    pub(crate) accept_time: bool,
}

/// Which rows are samples beside what is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Further {
    /// Those that differ from what is there.
    Differing,
    /// All.
    All,
}

/// The order of day, month and year in a date of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Dates {
    /// Month, day, year.
    Mdy,
    /// Day, month, year.
    Dmy,
    /// The number of a day.
    Serial,
}

/// What stands before the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Decimal {
    /// `17.42`.
    Point,
    /// `17,42`.
    Comma,
}

/// How bytes stand for letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Encoding {
    /// UTF-8.
    #[value(name = "utf-8")]
    Utf8,
    /// Latin-1, as Windows has it (code page 1252).
    #[value(name = "latin-1")]
    Latin1,
}

/// Reads `NAME=MEANING`; the name may hold an equals sign, the meaning none.
fn column(text: &str) -> Result<(String, String), String> {
    let (name, meaning) =
        text.rsplit_once('=').ok_or("expected a column's name and what it tells, as in `Wd=row in cm`")?;
    Ok((name.trim().to_owned(), meaning.trim().to_owned()))
}

#[derive(Debug, Subcommand)]
pub(crate) enum ImportMapping {
    /// List the mappings that are kept
    #[command(after_help = "Example:\n  ligule import mapping list --format json")]
    List,
    /// Print a mapping, as a file for `--mapping`
    #[command(after_help = "Example:\n  ligule import mapping show stand-count > spring.toml")]
    Show(MappingName),
    /// Remove a mapping; what was recorded with it stays
    #[command(after_help = "Example:\n  ligule import mapping remove stand-count")]
    Remove(MappingName),
}

#[derive(Debug, Args)]
pub(crate) struct MappingName {
    /// Its name, as `ligule import mapping list` shows it.
    pub(crate) name: String,
}

#[derive(Debug, Args)]
pub(crate) struct ImportWeather {
    /// The file.
    pub(crate) file: PathBuf,
    /// The station's code; needed where the file does not tell it.
    #[arg(long)]
    pub(crate) station: Option<String>,
    /// The file's layout, where its first line does not tell it.
    ///
    /// Needed for the CSV of GHCN-Daily with one row a day, which does not tell its units: `ghcn-access-tenths` reads it
    /// as tenths of °C and of mm, as the bulk files are.
    #[arg(long, value_name = "NAME", value_parser = layout())]
    pub(crate) layout: Option<ligule_engine::weather::Format>,
    /// Accept days that lie in the future of this device's clock.
    #[arg(long)]
    pub(crate) accept_time: bool,
}

/// Reads the name of a layout of weather files.
fn layout() -> impl TypedValueParser<Value = ligule_engine::weather::Format> {
    let names = ligule_engine::weather::Format::NAMES.map(|(name, _)| name);
    PossibleValuesParser::new(names).try_map(|name| name.parse())
}

#[derive(Debug, Args)]
pub(crate) struct FieldDay {
    /// The field.
    pub(crate) field: String,
    #[command(flatten)]
    pub(crate) day: Day,
}

#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct Day {
    /// The day for which to answer [default: today at the field].
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) as_of: Option<Date>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Crew {
    /// Show the crew and its members
    #[command(after_help = "Example:\n  ligule crew show")]
    Show,
    /// Set the units or the language in which the crew reads its records
    ///
    /// It goes to every device of the crew with the next exchange. A number that is typed without a unit is in the crew's
    /// unit, which the help of `ligule record KIND` and the questions of a visit name; the echo shows how it was understood.
    /// So is one of a sheet where neither column nor cell names a unit. What a scout reads is in the language; what setting
    /// up and looking after a journal says is in English.
    #[command(after_help = "Examples:\n  ligule crew set units metric\n  ligule crew set language es")]
    Set(CrewSet),
    /// Print a one-time invitation and wait for the device that uses it
    #[command(after_help = "Example:\n  ligule crew invite --listen 192.168.1.20:7010")]
    Invite(Invite),
    /// Take a device out of the crew: members that know of it exchange no more records with it
    ///
    /// What was exchanged before stays, there and here; a program cannot take it back. The other members hear of it when
    /// they next exchange records with this device or with one that knows; until then they go on exchanging with the
    /// device that was removed. To let its holder in again, invite that device anew: it hears that it was removed when it tries
    /// to exchange, and joins then.
    #[command(after_help = "Examples:\n  ligule crew remove \"Tomas Rell\"\n  ligule crew remove 4f0c9a1e")]
    Remove(Remove),
    /// Join a crew with an invitation
    #[command(after_help = "Example:\n  ligule crew join ligule1…")]
    Join(Join),
}

#[derive(Debug, Args)]
pub(crate) struct CrewSet {
    /// What to set.
    #[arg(value_parser = ["units", "language"])]
    pub(crate) setting: String,
    /// Units: `us` or `metric`; language: `en` or `es`.
    pub(crate) value: String,
}

#[derive(Debug, Args)]
pub(crate) struct Invite {
    #[command(flatten)]
    pub(crate) listen: Listen,
    /// Minutes until the invitation expires.
    #[arg(long, default_value_t = 15, value_parser = clap::value_parser!(u16).range(1..=1440))]
    pub(crate) minutes: u16,
}

#[derive(Debug, Args)]
pub(crate) struct Remove {
    /// The device: who holds it, or its identifier or the first eight letters of it, as `ligule crew show` prints them.
    #[arg(value_name = "NAME|DEVICE")]
    pub(crate) who: String,
}

#[derive(Debug, Args)]
pub(crate) struct Join {
    /// The invitation, as the inviting device printed it.
    pub(crate) invitation: String,
}

#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct Listen {
    /// Address and port to listen on; port 0 lets the system choose.
    #[arg(long, value_name = "IP:PORT", default_value = "0.0.0.0:0")]
    pub(crate) listen: SocketAddr,
}

#[derive(Debug, Args)]
pub(crate) struct Compact {
    /// Only this season (year of harvest); repeat for more.
    #[arg(long, value_name = "YEAR")]
    pub(crate) season: Vec<i32>,
    /// Write anew what is damaged or missing in the archive, from what this device holds.
    #[arg(long)]
    pub(crate) repair: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Archive {
    /// List the live files of every table
    #[command(after_help = "Example:\n  ligule archive files --format csv")]
    Files,
    /// Check every live file against its name, its row count and the manifest
    #[command(after_help = "Example:\n  ligule archive verify")]
    Verify,
}

#[derive(Debug, Args)]
pub(crate) struct Query {
    /// The question in SQL; `-` reads it from standard input.
    #[arg(required_unless_present_any = ["tables", "describe"])]
    pub(crate) sql: Option<String>,
    /// List the tables.
    #[arg(long, conflicts_with = "sql")]
    pub(crate) tables: bool,
    /// Tell a table's columns, units and meanings.
    #[arg(long, value_name = "TABLE", conflicts_with_all = ["sql", "tables"])]
    pub(crate) describe: Option<String>,
    /// Leave out what this device's journal holds but the archive does not yet.
    #[arg(long)]
    pub(crate) archive_only: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Advise {
    /// The field; without it every field of the season.
    pub(crate) field: Option<String>,
    #[command(flatten)]
    pub(crate) day: Day,
    #[command(flatten)]
    pub(crate) packs: PackFolder,
    /// Particulars of the question that a pack asks for: `mix=mesotrione+atrazine`, `placement=directed`; repeat for more.
    #[arg(long, value_name = "KEY=VALUE")]
    pub(crate) set: Vec<String>,
    /// Print every reason, however many a finding has.
    #[arg(long)]
    pub(crate) full: bool,
}

#[derive(Debug, Clone, Args)]
pub(crate) struct PackFolder {
    /// Folder with further rule packs beside those that come with the program.
    #[arg(long, env = "LIGULE_PACKS", value_name = "FOLDER")]
    pub(crate) packs: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Pack {
    /// List the packs with regions, versions and review dates
    #[command(after_help = "Example:\n  ligule pack list")]
    List(PackFolder),
    /// Run a pack's own cases and checks
    #[command(after_help = "Example:\n  ligule pack check my-pack/")]
    Check(PackPath),
}

#[derive(Debug, Args)]
pub(crate) struct PackPath {
    /// The pack: its file or folder, or the name of one that comes with the program.
    pub(crate) pack: String,
}

#[derive(Debug, Args)]
pub(crate) struct Report {
    /// The field.
    pub(crate) field: String,
    /// The file to write.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    #[command(flatten)]
    pub(crate) day: Day,
    #[command(flatten)]
    pub(crate) packs: PackFolder,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Journal {
    /// Check every document, the projection and the photos
    ///
    /// The file of a damaged photo is moved aside (`….damaged`), so that the next exchange brings the photo.
    #[command(after_help = "Example:\n  ligule journal verify")]
    Verify,
    /// Make the projection anew from the documents
    #[command(after_help = "Example:\n  ligule journal rebuild")]
    Rebuild,
    /// Take what can be read of a damaged journal into a new one in another folder
    ///
    /// With it come the photos that are whole, and what else lies in the folder. The damaged journal stays as it is.
    #[command(after_help = "Example:\n  ligule --journal damaged journal salvage rescued")]
    Salvage(Salvage),
    /// Condense the documents' chunks into snapshots
    #[command(after_help = "Example:\n  ligule journal snapshot")]
    Snapshot,
    /// Write everything into a file, as lines of JSON
    ///
    /// Every change ever made, and beside it every record with its history for other readers. The device's secret key and
    /// open invitations stay behind. The lines are described in schemas/journal.
    #[command(after_help = "Example:\n  ligule journal export season.jsonl")]
    Export(JournalFile),
    /// Read in what `ligule journal export` wrote
    ///
    /// Into this journal, where it is of the same crew; where there is no journal yet, one is started, as a new device that
    /// the crew has to invite before it can exchange records. Reading a file twice adds nothing.
    #[command(after_help = "Example:\n  ligule --journal again journal import season.jsonl")]
    Import(JournalFile),
}

#[derive(Debug, Args)]
pub(crate) struct JournalFile {
    /// The file.
    pub(crate) file: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Backup {
    /// The folder to make; it must not be there yet.
    pub(crate) into: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Salvage {
    /// The folder of the new journal.
    pub(crate) into: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// The folder to make; it must not be there yet [default: a new one in the system's folder for temporary files].
    #[arg(long, value_name = "FOLDER")]
    pub(crate) into: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell.
    #[arg(value_enum)]
    pub(crate) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(crate) struct Manual {
    /// The folder.
    pub(crate) folder: PathBuf,
}
