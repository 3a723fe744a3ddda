//! SQL over the archive and what the journal holds beyond it.

use std::collections::BTreeMap;
use std::io::Write;
use std::sync::Arc;

use ligule_archive::{Archive, FarmUnit, UnitState};
use ligule_journal::Journal;
use ligule_observation::ids::{DocId, Feature};
use ligule_observation::kind::Kind;
use ligule_observation::kinds::KindSet;
use ligule_query::{LiveError, LiveRows, QueryError, Session, SessionOptions, TableInfo};

use crate::Engine;
use crate::archive::{Facts, contains, farm_unit, spelled};
use crate::error::{EngineError, Fault, Result};
use crate::number::counted;

pub use ligule_query::output::Format as OutputFormat;

/// A session in which questions can be asked.
pub struct Question {
    session: Session,
    notes: Vec<String>,
}

/// Opens a session over an archive and, where one is given, a journal. An archive that is not there counts as empty
/// beside a journal.
pub async fn question(engine: Option<&Engine>, place: &str) -> Result<Question> {
    let archive = match Archive::open(place) {
        Ok(archive) => Some(archive),
        Err(error) if engine.is_some() && error.is_missing() => None,
        Err(error) => return Err(error.into()),
    };
    let kinds: Vec<Kind> = engine
        .map_or_else(|| KindSet::builtin().iter().cloned().collect(), |engine| engine.kinds.iter().cloned().collect());
    let live = engine.map(|engine| Arc::new(Live(Arc::clone(&engine.journal))) as Arc<dyn LiveRows>);
    let mut notes = Vec::new();
    if let (Some(engine), Some(archive)) = (engine, &archive) {
        // A damaged archive is told where it is met, by the question itself.
        let ahead = archive.units().await.map_or(Ok(0), |archived| ahead(&engine.journal, &archived))?;
        if ahead > 0 {
            notes.push(format!(
                "the archive holds changes of {} that this device does not have; what this device alone holds of {} is \
                 not in the answer: sync, then compact",
                counted(ahead, "document", "documents"),
                if ahead == 1 { "it" } else { "them" }
            ));
        }
    }
    let session = Session::new(SessionOptions { archive, live, kinds, ..SessionOptions::default() }).await?;
    Ok(Question { session, notes })
}

/// Counts the documents of which the archive holds something that the journal does not.
fn ahead(journal: &Journal, archived: &BTreeMap<DocId, UnitState>) -> Result<usize> {
    let mut count = 0;
    for document in journal.documents()? {
        if let Some(state) = archived.get(&document.id)
            && state.heads != spelled(&document)
            && !contains(journal, document.id, &state.heads)?
        {
            count += 1;
        }
    }
    Ok(count)
}

impl Question {
    /// Returns what a person should know about the answers.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Returns the tables.
    pub fn tables(&self) -> impl Iterator<Item = &TableInfo> {
        self.session.tables()
    }

    /// Returns one table, or names the nearest.
    pub fn describe(&self, table: &str) -> Result<&TableInfo> {
        Ok(self.session.describe(table)?)
    }

    /// Answers one SQL query into `out`.
    pub async fn answer(&self, sql: &str, format: OutputFormat, out: &mut (impl Write + Send)) -> Result<()> {
        let answer = self.session.sql(sql).await?;
        Ok(ligule_query::output::write(&answer, format, out)?)
    }
}

/// The journal as a source of rows that are newer than the archive.
struct Live(Arc<Journal>);

impl LiveRows for Live {
    fn newer_than(&self, archived: &BTreeMap<DocId, UnitState>) -> std::result::Result<Vec<FarmUnit>, LiveError> {
        let facts = Facts::of(&self.0.all_fields()?, &self.0.roster()?);
        let mut units = Vec::new();
        for document in self.0.documents()? {
            if document.key.feature == Feature::Crew {
                continue;
            }
            let state = archived.get(&document.id);
            let newer = match state {
                None => true,
                // Of fields that were merged, drawn or renamed since, the archive still tells what was.
                Some(state) if state.heads == spelled(&document) => {
                    let feature = facts.feature(&document.key.feature);
                    matches!(&feature, Feature::Field(id) if state.field != *id)
                        || state.facts != *facts.about(&feature)
                }
                Some(state) => contains(&self.0, document.id, &state.heads)?,
            };
            if newer {
                units.push(farm_unit(&self.0, &document, state, &facts)?);
            }
        }
        Ok(units)
    }
}

impl From<QueryError> for EngineError {
    fn from(error: QueryError) -> Self {
        if error.closed_pipe() {
            return std::io::Error::from(std::io::ErrorKind::BrokenPipe).into();
        }
        if error.is_damage() {
            return Self::new(Fault::Data, error.to_string(), "");
        }
        let hint = "`ligule query --tables` and `--describe TABLE` show what can be asked";
        Self::new(Fault::User, error.to_string(), hint)
    }
}
