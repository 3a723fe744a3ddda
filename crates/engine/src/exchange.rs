//! Exchange with other devices over the network.

use std::cell::RefCell;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use ligule_journal::{Journal, JournalError};
use ligule_observation::field::Field;
use ligule_observation::ids::{DeviceId, DocId, DocKey};
use ligule_observation::outside::Limits;
use ligule_observation::screen::ScreenRequest;
use ligule_sync::frame::RefuseCode;
use ligule_sync::membership::{MembershipLog, SignedEntry};
use ligule_sync::session::RefusedDocument;
use ligule_sync::{Applied, DocEntry, Refusal, RefusalCode, Store, StoreError, SyncError, VersionVector, clocks_apart};
use ligule_transport::{
    Exchanged, Node, NodeOptions, OpenPhotos, PeerAddress, ServeEvent, Service, SharedStore, Stores, Target,
    TransportError, discovery,
};
use serde::Serialize;

use crate::clocks::{self, OddTimes};
use crate::conflicts::decisions;
use crate::crew::{MEMBERSHIP, key, membership};
use crate::error::{EngineError, Fault, Result};
use crate::photos::exchange::{DevicePhotos, Tell, notes as photo_notes};
use crate::photos::{PhotoProgress, set_aside};
use crate::phrases::Phrase;
use crate::screening::Screener;
use crate::{Engine, now, random};

/// What the other side is told of this program.
pub(crate) const PROGRAM: &str = env!("CARGO_PKG_VERSION");
/// How long to look for other devices nearby.
const LOOK: Duration = Duration::from_secs(5);

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
    /// Decisions that wait for a person now, as [`Engine::conflicts`] tells them.
    pub conflicts: usize,
    /// Photos new here; none where one of both devices exchanges none.
    pub photos_received: Option<u64>,
    /// Photos new on the other device.
    pub photos_sent: Option<u64>,
    /// Bytes of photos that came.
    pub photo_bytes_in: Option<u64>,
    /// Bytes of photos that were sent.
    pub photo_bytes_out: Option<u64>,
    /// Photos that records name and that are not on this device now.
    pub photos_missing: usize,
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
        photos: bool,
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
        let store = Arc::new(Mutex::new(self.journal_store()));
        let records: SharedStore = store.clone();
        let stores = Stores { records, photos: photos.then(|| self.photo_store(Arc::new(|_| {}))) };
        let service = Service { stores, desk: None, events };
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
                        Some(ServeEvent::Synced { device, exchanged }) => {
                            told(self.exchanged(device, &exchanged));
                            left = left.map(|left| left - 1);
                        }
                        Some(ServeEvent::Refused { device, code: RefuseCode::Removed }) => {
                            told(Err(self.removed_writes(&device)));
                        }
                        Some(ServeEvent::Refused { device, code }) => {
                            told(Err(refused(device, code)));
                        }
                        Some(ServeEvent::Failed { device, error }) => told(Err(self.failed(device, &error))),
                        Some(ServeEvent::Joined { .. }) => {}
                    },
                    _ = tokio::signal::ctrl_c() => break,
                }
                // The next device may come in hours. Where it is locked, another exchange is at work.
                if let Ok(mut store) = store.try_lock() {
                    store.screener.rest();
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
    /// is found nearby; after them photos, where `photos` is there to be told how far they are.
    pub async fn exchange(
        &self,
        address: Option<&str>,
        photos: Option<impl Fn(&PhotoProgress) + Send + Sync + 'static>,
    ) -> Result<Exchange> {
        let peer = address
            .map(str::parse::<PeerAddress>)
            .transpose()
            .map_err(|error| EngineError::new(Fault::User, error.to_string(), ""))?;
        let node = self.node(None).await?;
        let stores = Stores { records: self.store(), photos: photos.map(|tell| self.photo_store(Arc::new(tell))) };
        let result = self.exchange_over(&node, peer, stores).await;
        node.close().await;
        let (device, exchanged) = result?;
        self.exchanged(device, &exchanged)
    }

    /// Says in the crew's language why devices did not come to exchange, where somebody there can do something about it.
    fn not_exchanged(&self, error: &TransportError) -> EngineError {
        let reading = self.reading();
        let seconds = |waited: &Duration| waited.as_secs_f32().ceil();
        let message = match error {
            TransportError::NoAnswer { address, waited } => {
                reading.say(Phrase::NobodyAnswers, &[("address", address), ("seconds", &seconds(waited))])
            }
            TransportError::NothingFound { waited } => {
                reading.say(Phrase::NobodyNearby, &[("seconds", &seconds(waited))])
            }
            TransportError::NoMemberThere { address, tried } => {
                reading.say(Phrase::NoMemberThere, &[("address", address), ("tried", tried)])
            }
            TransportError::Broken { reason } => reading.say(Phrase::ConnectionBroke, &[("reason", reason)]),
            TransportError::Silent { waited } => {
                reading.say(Phrase::DeviceFellSilent, &[("seconds", &seconds(waited))])
            }
            TransportError::Sync(SyncError::Refused { code: RefuseCode::NotMember }) => {
                reading.say(Phrase::NotOfTheCrew, &[])
            }
            TransportError::Sync(SyncError::Refused { code: RefuseCode::Removed }) => {
                self.heard_of_own_removal();
                reading.say(Phrase::RemovedHere, &[])
            }
            TransportError::Sync(SyncError::RefusedPeer { device, code: RefuseCode::Removed }) => {
                return device.parse().map_or_else(
                    |_| EngineError::new(Fault::Exchange, error.to_string(), ""),
                    |device| self.removed_writes(&device),
                );
            }
            other => other.to_string(),
        };
        EngineError::new(Fault::Exchange, message, "")
    }

    fn failed(&self, device: Option<DeviceId>, error: &TransportError) -> EngineError {
        let mut failed = self.not_exchanged(error);
        if let Some(device) = device {
            failed.message = format!("exchange with device {device}: {}", failed.message);
        }
        failed
    }

    async fn exchange_over(
        &self,
        node: &Node,
        peer: Option<PeerAddress>,
        stores: Stores,
    ) -> Result<(DeviceId, Exchanged)> {
        let said = |error: TransportError| self.not_exchanged(&error);
        match peer {
            Some(PeerAddress { address, device: Some(device) }) => {
                let target = Target { device, addresses: vec![address] };
                let exchanged = node.sync_with(&target, stores).await.map_err(said)?;
                Ok((device, exchanged))
            }
            Some(PeerAddress { address, device: None }) => {
                let members: Vec<DeviceId> = membership(&self.journal)?.members().into_keys().collect();
                node.sync_at(address, &members, stores).await.map_err(said)
            }
            None => {
                let identity = self.journal.identity();
                let removed = membership(&self.journal)?.removed();
                let wanted = |device: &DeviceId| *device != identity.device && !removed.contains_key(device);
                let found = discovery::find(identity.crew, wanted, LOOK, 1).await.map_err(said)?;
                let target = found.first().ok_or_else(|| {
                    EngineError::new(Fault::Exchange, "no other device was found", "type its address")
                })?;
                Ok((target.device, node.sync_with(target, stores).await.map_err(said)?))
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
        Arc::new(Mutex::new(self.journal_store()))
    }

    pub(crate) fn journal_store(&self) -> JournalStore {
        let (journal, odd_times) = (Arc::clone(&self.journal), Arc::clone(&self.odd_times));
        JournalStore { journal, screener: Screener::new(self.screen.clone()), odd_times }
    }

    /// Opens the photos of this device anew for each exchange.
    fn photo_store(&self, tell: Tell) -> OpenPhotos {
        let journal = Arc::clone(&self.journal);
        Arc::new(move || Box::new(DevicePhotos::new(&journal, Arc::clone(&tell))))
    }

    /// Tells an exchange as people read it.
    fn exchanged(&self, device: DeviceId, exchanged: &Exchanged) -> Result<Exchange> {
        let Exchanged { records: report, photos } = exchanged;
        if report.changes_in > 0 {
            self.tidy();
        }
        let person = self.person_of(&device)?;
        let mut notes = self.settle_moves()?;
        notes.extend(self.fields_to_look_at()?);
        match clocks_apart(report.clock_ahead) {
            Some(ahead) => notes.push(clocks::apart(&person, ahead, &self.reading)),
            // Where one of both clocks is wrong now, which times cannot be is told when it was set.
            None => notes.extend(self.dated_by_wrong_clocks()?),
        }
        // The other device says so, and this one looks for itself.
        for hash in photos.iter().flat_map(|photos| &photos.damaged_here) {
            let _ = set_aside(&self.journal.photos(), &hash.to_string());
        }
        let missing = self.missing_photos()?;
        notes.extend(photo_notes(&person, photos.as_ref(), missing));
        let photos = photos.as_ref();
        Ok(Exchange {
            person,
            changes_in: report.changes_in,
            changes_out: report.changes_out,
            documents: self.journal.documents()?.len(),
            documents_differing: report.documents,
            bytes_in: report.bytes_in,
            bytes_out: report.bytes_out,
            refused: report.refused.iter().map(refused_document).collect(),
            conflicts: decisions(&self.conflicts()?),
            photos_received: photos.map(|photos| photos.received),
            photos_sent: photos.map(|photos| photos.sent),
            photo_bytes_in: photos.map(|photos| photos.bytes_in),
            photo_bytes_out: photos.map(|photos| photos.bytes_out),
            photos_missing: missing,
            notes,
        })
    }

    /// Names the fields of which something waits for a person since devices met.
    pub(crate) fn fields_to_look_at(&self) -> Result<Vec<String>> {
        let mut told = self.fields_of_one_name()?;
        told.extend(self.split_two_ways()?);
        told.extend(self.on_retired_fields()?);
        Ok(told)
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

    /// Returns who holds a device, or held it before it was removed.
    pub(crate) fn person_of(&self, device: &DeviceId) -> Result<String> {
        let log = membership(&self.journal)?;
        let member = log.members().remove(device).map(|member| member.person);
        let person = member.or_else(|| log.removed().remove(device).map(|removal| removal.person));
        Ok(person.filter(|person| !person.is_empty()).unwrap_or_else(|| device.to_string()))
    }
}

fn refused_document(refused: &RefusedDocument) -> String {
    let what =
        refused.key.as_ref().map_or_else(|| refused.doc.to_string(), |key| format!("{} {}", key.feature, key.season));
    let who = if refused.by_this_device { "this device" } else { "the other device" };
    format!("{what}, by {who}: {}", refused.refusal)
}

fn refused(device: DeviceId, code: RefuseCode) -> EngineError {
    match code {
        // What the code says is said to that device.
        RefuseCode::NotMember => EngineError::new(
            Fault::Exchange,
            format!("device {device} is not a member of the crew: it was refused and got nothing"),
            "if it belongs to the crew, invite it with `ligule crew invite`",
        ),
        other => EngineError::new(Fault::Exchange, format!("device {device} was refused and got nothing: {other}"), ""),
    }
}

/// The journal, as the exchange asks for it.
pub(crate) struct JournalStore {
    pub(crate) journal: Arc<Journal>,
    screener: Screener,
    odd_times: OddTimes,
}

impl JournalStore {
    /// Returns a store that takes nothing in, or the caller does without a process that tries changes out.
    pub(crate) fn unscreened(journal: &Arc<Journal>) -> Self {
        Self { journal: Arc::clone(journal), screener: Screener::default(), odd_times: Default::default() }
    }
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
        let screener = RefCell::new(&mut self.screener);
        let screen = |request: &ScreenRequest| screener.borrow_mut().ask(request);
        let report = self.journal.apply(key, &changes, &Limits::default(), now(), &screen).map_err(refusal)?;
        for odd in report.odd_times {
            tracing::debug!(%from, ?odd, "a device's clock was wrong");
            self.odd_times.lock().unwrap_or_else(|e| e.into_inner()).push((key.clone(), odd));
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

impl From<SyncError> for EngineError {
    fn from(error: SyncError) -> Self {
        Self::new(Fault::Exchange, error.to_string(), "")
    }
}
