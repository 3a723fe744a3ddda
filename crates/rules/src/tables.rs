//! Reads the pack's tables: `tables/<name>.csv`, the first line naming the columns.

use crate::{Pack, RuleError, contract::CellTable};

pub(crate) fn read(pack: &Pack) -> Result<Vec<CellTable>, RuleError> {
    pack.folder("tables", ".csv").map(|(name, bytes)| table(pack, name, bytes)).collect()
}

fn table(pack: &Pack, name: &str, bytes: &[u8]) -> Result<CellTable, RuleError> {
    let damaged = |problem: String| pack.damaged(format!("tables/{name}.csv"), problem);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(bytes);
    let columns: Vec<String> =
        reader.headers().map_err(|e| damaged(e.to_string()))?.iter().map(str::to_owned).collect();
    if columns.is_empty() {
        return Err(damaged("it is empty; the first line should name the columns".to_owned()));
    }
    let (mut rows, mut lines) = (Vec::new(), Vec::new());
    for record in reader.records() {
        let record = record.map_err(|e| damaged(e.to_string()))?;
        lines.push(record.position().map_or(0, |p| p.line() as u32));
        rows.push(record.iter().map(str::to_owned).collect());
    }
    Ok(CellTable { name: name.to_owned(), columns, rows, lines })
}
