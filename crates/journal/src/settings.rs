//! The crew's settings, read without loading a document.

use jiff::Timestamp;
use ligule_observation::settings::Settings;
use rusqlite::{Connection, OptionalExtension, params};

use crate::{documents::Cached, error::JournalError, store::Journal, write::json};

/// Under what the projection of the settings is kept.
const NAME: &str = "crew-settings";

impl Journal {
    /// Returns the crew's settings by name, as this device knows them.
    pub fn settings(&self) -> Result<Settings, JournalError> {
        // Where the list cannot be read nothing is set; a rebuild writes it anew.
        Ok(self.kv_get(NAME)?.and_then(|bytes| serde_json::from_slice(&bytes).ok()).unwrap_or_default())
    }

    /// Writes settings for the whole crew; those that are not given stay. Durable on return.
    pub fn set_settings(&self, new: &Settings, by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.write(&self.crew_doc(), by, |document| {
            document.set_settings(new, at)?;
            Ok(((), Vec::new()))
        })
    }

    /// Writes down what the crew's document says.
    pub(crate) fn project_settings(&self, conn: &Connection, cached: &Cached) -> Result<(), JournalError> {
        let body = body(&cached.document.settings());
        conn.execute("insert or replace into kv (name, value) values (?1, ?2)", params![NAME, body])
            .map(|_| ())
            .map_err(self.sql())
    }
}

/// Settings as they are listed.
pub(crate) fn body(settings: &Settings) -> Vec<u8> {
    json(settings).into_bytes()
}

/// Returns what is listed; nothing where nothing was.
pub(crate) fn listed(conn: &Connection) -> rusqlite::Result<Option<Vec<u8>>> {
    conn.query_row("select value from kv where name = ?1", [NAME], |row| row.get(0)).optional()
}
