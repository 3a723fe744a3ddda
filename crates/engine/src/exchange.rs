//! Exchange with other devices: over the network, and as a file.

use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use ligule_journal::{Journal, JournalError};
use ligule_observation::field::Field;
use ligule_observation::ids::{DeviceId, DocId, DocKey};
use ligule_observation::outside::Limits;
use ligule_sync::membership::{MembershipLog, SignedEntry};
use ligule_sync::session::RefusedDocument;
use ligule_sync::{
    Applied, CLOCKS_APART, DocEntry, Refusal, RefusalCode, Store, StoreError, SyncReport, VersionVector, bundle,
};
use ligule_transport::{
    Node, NodeOptions, PeerAddress, ServeEvent, Service, SharedStore, Target, TransportError, discovery,
};
use serde::Serialize;

use crate::crew::{MEMBERSHIP, key, membership};
use crate::error::{EngineError, Fault, Result};
use crate::number::counted;
use crate::{Engine, now, random, screening};

/// What the other side is told of this program.
pub(crate) const PROGRAM: &str = env!("CARGO_PKG_VERSION");
/// How long to look for other devices nearby.
const LOOK: std::time::Duration = std::time::Duration::from_secs(5);

/// What an exchange did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Exchange {
    /// The other device's person.
    pub person: String,
    /// Changes that were new here.
    pub changes_in: u64,
    /// Changes sent.
    pub changes_out: u64,
    /// Documents on this device now.
    pub documents: usize,
    /// Documents that differed.
    pub documents_differing: u64,
    /// Bytes received.
    pub bytes_in: u64,
    /// Bytes sent.
    pub bytes_out: u64,
    /// What was not taken in, and why.
    pub refused: Vec<String>,
    /// Conflicts that wait for a person now.
    pub conflicts: usize,
    /// What else waits for a person.
    pub notes: Vec<String>,
}

/// What a bundle holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BundleWritten {
    /// Documents.
    pub documents: u32,
    /// Changes.
    pub changes: u64,
    /// Bytes.
    pub bytes: u64,
}

/// What was taken in from a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BundleRead {
    /// Who wrote it.
    pub person: String,
    /// Documents taken in.
    pub documents: u32,
    /// Changes that were new.
    pub new_changes: u64,
    /// What was not taken in, and why.
    pub refused: Vec<String>,
    /// What else waits for a person.
    pub notes: Vec<String>,
}

impl Engine {
    /// Answers other devices of the crew: `exchanges` times, or until the process is interrupted.
    pub async fn serve(
        &self,
        listen: SocketAddr,
        exchanges: Option<u32>,
        announce: bool,
        listening: impl FnOnce(&[SocketAddr]),
        mut told: impl FnMut(Result<Exchange>),
    ) -> Result<()> {
        let node = self.node(Some(listen)).await?;
        let announcement = if announce {
            let crew = self.journal.identity().crew;
            match discovery::announce(crew, &node.device(), &node.sockets(), random()?) {
                Ok(announcement) => Some(announcement),
                Err(error) => {
                    told(Err(error.into()));
                    None
                }
            }
        } else {
            None
        };
        let bound = node.sockets().first().copied().unwrap_or(listen);
        if bound.ip().is_unspecified() {
            // Every interface; others need an address that they can reach, the familiar kind first.
            let mut addresses = node.addresses();
            addresses.sort_by_key(|address| (address.is_ipv6(), address.ip().is_loopback()));
            listening(&addresses);
        } else {
            listening(&[bound]);
        }
        let (events, mut happened) = tokio::sync::mpsc::unbounded_channel();
        let service = Service { store: self.store(), desk: None, now: Arc::new(|| now().as_millisecond()), events };
        let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
        let served = node.serve(service, async {
            // An error means that the sender is gone, which is as good a reason to stop.
            let _ = stopped.await;
        });
        let watch = async {
            let mut left = exchanges;
            while left != Some(0) {
                tokio::select! {
                    event = happened.recv() => match event {
                        None => break,
                        Some(ServeEvent::Synced { device, report }) => {
                            told(self.exchanged(device, &report));
                            left = left.map(|left| left - 1);
                        }
                        Some(ServeEvent::Refused { device, code }) => {
                            told(Err(refused(device, &code.to_string())));
                        }
                        Some(ServeEvent::Failed { device, error }) => told(Err(failed(device, error))),
                        Some(ServeEvent::Joined { .. }) => {}
                    },
                    _ = tokio::signal::ctrl_c() => break,
                }
            }
            let _ = stop.send(());
        };
        tokio::join!(served, watch);
        drop(announcement);
        node.close().await;
        Ok(())
    }

    /// Exchanges records with a device at an address (`IP:PORT`, perhaps `#DEVICE`), or with whichever of the crew's
    /// is found nearby.
    pub async fn exchange(&self, address: Option<&str>) -> Result<Exchange> {
        let peer = address
            .map(str::parse::<PeerAddress>)
            .transpose()
            .map_err(|error| EngineError::new(Fault::User, error.to_string(), ""))?;
        let node = self.node(None).await?;
        let result = self.exchange_over(&node, peer).await;
        node.close().await;
        let (device, report) = result?;
        self.exchanged(device, &report)
    }

    async fn exchange_over(&self, node: &Node, peer: Option<PeerAddress>) -> Result<(DeviceId, SyncReport)> {
        let store = self.store();
        match peer {
            Some(PeerAddress { address, device: Some(device) }) => {
                let report = node.sync_with(&Target { device, addresses: vec![address] }, store).await?;
                Ok((device, report))
            }
            Some(PeerAddress { address, device: None }) => {
                let members: Vec<DeviceId> = membership(&self.journal)?.members().into_keys().collect();
                Ok(node.sync_at(address, &members, store).await?)
            }
            None => {
                let identity = self.journal.identity();
                let found = discovery::find(identity.crew, &identity.device, LOOK, 1).await?;
                let target = found.first().ok_or_else(|| {
                    EngineError::new(Fault::Exchange, "no other device was found", "type its address")
                })?;
                Ok((target.device, node.sync_with(target, store).await?))
            }
        }
    }

    pub(crate) async fn node(&self, listen: Option<SocketAddr>) -> Result<Node> {
        let key = key(&self.journal);
        Ok(Node::bind(NodeOptions {
            key,
            listen: listen.into_iter().collect(),
            program: PROGRAM.to_owned(),
            clock: || now().as_millisecond(),
        })
        .await?)
    }

    pub(crate) fn store(&self) -> SharedStore {
        Arc::new(Mutex::new(JournalStore { journal: Arc::clone(&self.journal), screen: self.screen.clone() }))
    }

    /// Tells an exchange as people read it.
    fn exchanged(&self, device: DeviceId, report: &SyncReport) -> Result<Exchange> {
        if report.changes_in > 0 {
            self.tidy();
        }
        let person = self.person_of(&device)?;
        let mut notes = self.fields_of_one_name()?;
        notes.extend(report.clocks_apart().map(|ahead| clocks_apart(&person, ahead)));
        Ok(Exchange {
            person,
            changes_in: report.changes_in,
            changes_out: report.changes_out,
            documents: self.journal.documents()?.len(),
            documents_differing: report.documents,
            bytes_in: report.bytes_in,
            bytes_out: report.bytes_out,
            refused: report.refused.iter().map(refused_document).collect(),
            conflicts: self.journal.conflicts()?.len(),
            notes,
        })
    }

    /// Names the fields that two devices added under one name before they met.
    fn fields_of_one_name(&self) -> Result<Vec<String>> {
        let told = |(name, fields): (String, Vec<Field>)| {
            let ids: Vec<&str> = fields.iter().map(|field| field.id.as_str()).collect();
            format!(
                "{} fields are called `{name}`: {}; if they are one, `ligule field merge {name}`; if not, rename one with \
                 `ligule field amend ID --name NEW-NAME`",
                ids.len(),
                ids.join(", ")
            )
        };
        Ok(self.journal.duplicate_field_names()?.into_iter().map(told).collect())
    }

    fn person_of(&self, device: &DeviceId) -> Result<String> {
        let members = membership(&self.journal)?.members();
        Ok(members.get(device).map_or_else(|| device.to_string(), |member| member.person.clone()))
    }

    /// Writes everything that this device holds into a file for another device of the crew.
    pub fn write_bundle(&self, path: &Path) -> Result<BundleWritten> {
        let at = |error: std::io::Error| crate::cannot_write(path, &error);
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        let mut out = BufWriter::new(File::create(&part).map_err(at)?);
        let mut store = JournalStore { journal: Arc::clone(&self.journal), screen: None };
        let written = bundle::write(&mut store, None, &key(&self.journal), PROGRAM, now().as_millisecond(), &mut out);
        let finish = written.map_err(EngineError::from).and_then(|written| {
            out.flush().map_err(at)?;
            out.get_ref().sync_all().map_err(at)?;
            std::fs::rename(&part, path).map_err(at)?;
            Ok(written)
        });
        match finish {
            Ok(written) => {
                Ok(BundleWritten { documents: written.documents, changes: written.changes, bytes: written.bytes })
            }
            Err(error) => {
                let _ = std::fs::remove_file(&part);
                Err(error)
            }
        }
    }

    /// Takes in the records of a bundle.
    pub fn read_bundle(&mut self, path: &Path) -> Result<BundleRead> {
        let file = File::open(path).map_err(|error| {
            EngineError::new(Fault::User, format!("{}: {error}", path.display()), "name a bundle file")
        })?;
        let mut store = JournalStore { journal: Arc::clone(&self.journal), screen: self.screen.clone() };
        let report =
            bundle::read(BufReader::new(file), &mut store).map_err(|error| EngineError::from(error).at(path))?;
        let mut refused: Vec<String> =
            report.damaged.iter().map(|damage| format!("{}: {}", damage.part, damage.reason)).collect();
        refused
            .extend(report.refused.iter().map(|(key, refusal)| format!("{} {}: {refusal}", key.feature, key.season)));
        let person = self.person_of(&report.sender)?;
        // A bundle may have travelled for weeks, but it was not written tomorrow.
        let ahead = report.at.saturating_sub(now().as_millisecond());
        let notes = (ahead > CLOCKS_APART).then(|| clocks_apart(&person, ahead)).into_iter().collect();
        Ok(BundleRead { person, documents: report.documents, new_changes: report.changes_in, refused, notes })
    }
}

/// Tells that two devices cannot both know what time it is, and what to do.
fn clocks_apart(person: &str, ahead: i64) -> String {
    let direction = if ahead > 0 { "ahead of" } else { "behind" };
    format!(
        "the clock of {person}'s device is {} {direction} this device's, which reads {}: one of the two is wrong; set it to \
         the true time before recording more. Every record keeps the time that its device told; void what a wrong clock \
         dated, and record it again with `--at`",
        duration(ahead.unsigned_abs()),
        now().strftime("%Y-%m-%d %H:%M UTC"),
    )
}

/// Writes a time span in its two largest units: `3 days 2 h`.
fn duration(milliseconds: u64) -> String {
    let minutes = milliseconds / 60_000;
    let (days, hours, minutes) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    match (days, hours) {
        (0, 0) => format!("{minutes} min"),
        (0, hours) => format!("{hours} h {minutes} min"),
        (days, 0) => counted(days, "day", "days"),
        (days, hours) => format!("{} {hours} h", counted(days, "day", "days")),
    }
}

fn refused_document(refused: &RefusedDocument) -> String {
    let what =
        refused.key.as_ref().map_or_else(|| refused.doc.to_string(), |key| format!("{} {}", key.feature, key.season));
    let who = if refused.by_this_device { "this device" } else { "the other device" };
    format!("{what}, by {who}: {}", refused.refusal)
}

fn refused(device: DeviceId, why: &str) -> EngineError {
    EngineError::new(
        Fault::Exchange,
        format!("device {device} was refused and got nothing: {why}"),
        "if it belongs to the crew, invite it",
    )
}

fn failed(device: Option<DeviceId>, error: TransportError) -> EngineError {
    let mut failed = EngineError::from(error);
    if let Some(device) = device {
        failed.message = format!("exchange with device {device}: {}", failed.message);
    }
    failed
}

/// The journal, as the exchange asks for it.
pub(crate) struct JournalStore {
    pub(crate) journal: Arc<Journal>,
    pub(crate) screen: Option<PathBuf>,
}

fn store_error(action: &'static str) -> impl Fn(JournalError) -> StoreError {
    move |error| StoreError { action, reason: error.to_string() }
}

impl Store for JournalStore {
    fn inventory(&mut self) -> Result<Vec<DocEntry>, StoreError> {
        let documents = self.journal.documents().map_err(store_error("list its documents"))?;
        Ok(documents
            .into_iter()
            .map(|document| DocEntry { id: document.id, key: document.key, digest: document.digest })
            .collect())
    }

    fn vector(&mut self, doc: &DocId) -> Result<VersionVector, StoreError> {
        let document = self.journal.document(*doc).map_err(store_error("look a document up"))?;
        Ok(document.map(|document| document.vector).unwrap_or_default())
    }

    fn changes_since(&mut self, doc: &DocId, vector: &VersionVector) -> Result<Vec<Vec<u8>>, StoreError> {
        self.journal.changes_since(*doc, vector).map_err(store_error("read a document"))
    }

    fn apply(&mut self, from: &DeviceId, key: &DocKey, changes: Vec<Vec<u8>>) -> Result<Applied, Refusal> {
        let screen = |request: &ligule_observation::screen::ScreenRequest| match &self.screen {
            Some(program) => screening::ask(program, request),
            // The caller chose to do without a process of its own; the checks are the same.
            None => request.run().map(|_| ()),
        };
        let report = self.journal.apply(key, &changes, &Limits::default(), now(), &screen).map_err(refusal)?;
        for (hash, seconds) in &report.implausible {
            tracing::warn!(%from, ?hash, seconds, "a change tells a time that is not plausible: a device's clock is wrong");
        }
        let state = self.journal.document(key.id()).map_err(refusal)?;
        Ok(Applied { new_changes: report.added as u64, digest: state.map(|state| state.digest).unwrap_or_default() })
    }

    fn membership(&mut self) -> Result<MembershipLog, StoreError> {
        membership(&self.journal)
            .map_err(|error| StoreError { action: "read its membership log", reason: error.message })
    }

    fn merge_membership(&mut self, entries: Vec<SignedEntry>) -> Result<(), StoreError> {
        let action = "write its membership log";
        let crew = self.journal.identity().crew;
        self.journal
            .kv_update(MEMBERSHIP, |old| {
                let mut log = old
                    .and_then(|bytes| MembershipLog::from_bytes(bytes).ok())
                    .unwrap_or_else(|| MembershipLog::empty(crew));
                log.merge(entries);
                Some(log.to_bytes())
            })
            .map(|_| ())
            .map_err(store_error(action))
    }
}

fn refusal(error: JournalError) -> Refusal {
    use ligule_observation::outside::Refused;
    let code = match &error {
        JournalError::OtherCrew { .. } | JournalError::Refused(Refused::OtherDocument) => RefusalCode::OtherDocument,
        JournalError::Refused(Refused::MissingDependencies { .. }) => RefusalCode::MissingDependencies,
        JournalError::Io { .. } | JournalError::Busy { .. } | JournalError::NoRoom { .. } => RefusalCode::StoreFailed,
        _ => RefusalCode::Malformed,
    };
    Refusal { code, reason: error.to_string() }
}

impl From<TransportError> for EngineError {
    fn from(error: TransportError) -> Self {
        Self::new(Fault::Exchange, error.to_string(), "")
    }
}

impl From<ligule_sync::SyncError> for EngineError {
    fn from(error: ligule_sync::SyncError) -> Self {
        Self::new(Fault::Exchange, error.to_string(), "")
    }
}
