//! The crew's settings, read without loading a document.

use jiff::Timestamp;
use ligule_observation::settings::Settings;
use rusqlite::{Connection, params};

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
        let settings = cached.document.settings();
        conn.execute(
            "insert or replace into kv (name, value) values (?1, ?2)",
            params![NAME, json(&settings).as_bytes()],
        )
        .map(|_| ())
        .map_err(self.sql())
    }
}
