//! What tables there are and what their columns mean.

use std::collections::BTreeMap;

use ligule_archive::table::{self, Column, Table};

use crate::QueryError;

/// A table that can be queried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableInfo {
    /// The name to write after FROM.
    pub name: String,
    /// What a row is.
    pub about: String,
    /// The columns with units and meanings.
    pub columns: Vec<Column>,
}

/// Returns the tables that are queried: those of the kinds known here, with whatever columns the archive has besides,
/// and those that only the archive knows.
pub(crate) fn united(declared: Vec<Table>, archived: Vec<Table>) -> Result<Vec<Table>, QueryError> {
    let mut archived: BTreeMap<String, Table> = archived.into_iter().map(|table| (table.name.clone(), table)).collect();
    let mut all = Vec::new();
    for table in declared {
        let united = match archived.remove(&table.name) {
            Some(old) => with_columns_of(table, &old)?,
            None => table,
        };
        all.push(united);
    }
    archived.remove(table::SNAPSHOT);
    all.extend(archived.into_values());
    Ok(all)
}

/// Returns a table of which nothing but the name is known, because its log is damaged and no kind here declares it.
pub(crate) fn unknown(name: &str) -> Table {
    Table {
        name: name.to_owned(),
        about: "Its log is damaged, so that its columns are not known.".to_owned(),
        version: 0,
        columns: Vec::new(),
        sorted_by: Vec::new(),
    }
}

/// Puts the kind's columns first, as it declares them, and behind them those that only the archive has.
fn with_columns_of(declared: Table, archived: &Table) -> Result<Table, QueryError> {
    let mut columns = declared.columns;
    for column in &archived.columns {
        match columns.iter().find(|own| own.name == column.name) {
            Some(own) if own.data_type != column.data_type => {
                return Err(QueryError::ColumnChanged {
                    table: declared.name,
                    column: column.name.clone(),
                    archived: column.data_type.to_string(),
                    declared: own.data_type.to_string(),
                });
            }
            Some(_) => {}
            None => columns.push(column.clone()),
        }
    }
    Ok(Table { columns, ..declared })
}
