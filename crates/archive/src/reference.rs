//! The printed reference of every table.

use arrow::datatypes::DataType;
use ligule_observation::kind::Kind;

use crate::ArchiveError;
use crate::table::{self, Table};

/// Returns a Markdown page that lists every table that these kinds give: column, type, unit, meaning.
///
/// # Errors
/// A name that two kinds claim.
pub fn reference_markdown(kinds: &[Kind]) -> Result<String, ArchiveError> {
    let mut page = String::from(
        "# The tables of a season archive\n\n\
         Generated from the kinds of observation; regenerate with\n\
         `LIGULE_REGENERATE=1 cargo test -p ligule-archive --test reference`.\n\n\
         Each table is a folder with a Delta Lake log and files `season=YYYY/part-….parquet`. Units are UCUM codes.\n\
         Every column may hold nulls; a null says that nothing was recorded. Columns are only ever added, at the end.\n\
         Voided observations are in the files, with `void` true. The text as it was entered is kept in the\n\
         documents, not here.\n",
    );
    let mut all = table::tables(kinds)?;
    all.push(table::snapshot_table());
    for table in &all {
        page.push_str(&section(table));
    }
    Ok(page)
}

fn section(table: &Table) -> String {
    let mut text = format!(
        "\n## `{}`\n\n{}\nSorted by {}.\n\n| column | type | unit | meaning |\n| --- | --- | --- | --- |\n",
        table.name,
        table.about,
        table.sorted_by.join(", ")
    );
    for column in &table.columns {
        let unit = column.unit.as_deref().map(|unit| format!("`{unit}`")).unwrap_or_default();
        let meaning = column.meaning.replace('|', "\\|");
        text.push_str(&format!("| `{}` | {} | {unit} | {meaning} |\n", column.name, type_name(&column.data_type)));
    }
    text
}

/// Returns the name of a type as people say it.
pub fn type_name(data_type: &DataType) -> &'static str {
    match data_type {
        DataType::Int32 => "int32",
        DataType::Int64 => "int64",
        DataType::Float64 => "double",
        DataType::Boolean => "bool",
        DataType::Date32 => "date",
        DataType::Timestamp(..) => "timestamp (µs, UTC)",
        DataType::Binary => "binary",
        _ => "text",
    }
}
