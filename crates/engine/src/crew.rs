//! The crew: who belongs to it, how a device starts one, invites and joins.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use jiff::Timestamp;
use ligule_journal::{Identity, Journal};
use ligule_observation::ids::{DeviceId, hex};
use ligule_sync::SigningKey;
use ligule_sync::join::{InviteDesk, OpenInvitation};
use ligule_sync::membership::{MembershipLog, SignedEntry, crew_id, device_id};
use ligule_sync::ticket::Ticket;
use ligule_sync::{Store, StoreError, clocks_apart};
use ligule_transport::{JoinAnswer, ServeEvent, Service, Stores, TransportError};
use serde::{Deserialize, Serialize};

use crate::clocks;
use crate::error::{EngineError, Fault, Result, known};
use crate::exchange::JournalStore;
use crate::phrases::Phrase;
use crate::{Engine, now, random};

/// Where the journal keeps the membership log.
pub(crate) const MEMBERSHIP: &str = "membership";
/// Where it keeps the crew's name.
const CREW_NAME: &str = "crew-name";
/// Where it keeps the device, once it was told that it was removed.
const TOLD_REMOVED: &str = "told-removed";
/// The state of a device that was taken out of the crew.
const REMOVED: &str = "removed";
/// Under what it keeps open invitations.
pub(crate) const INVITATION: &str = "invitation:";

/// A member in a listing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MemberLine {
    /// Who holds the device.
    pub person: String,
    /// The device.
    pub device: String,
    /// `this device`, `member` or `removed`.
    pub state: String,
}

/// A device that was admitted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Newcomer {
    /// Who holds it.
    pub person: String,
    /// The device.
    pub device: String,
    /// What is to be said about it: a clock that is wrong.
    pub notes: Vec<String>,
}

/// A crew that this device joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Joined {
    /// The crew's name.
    pub crew: String,
    /// Who invited.
    pub inviter: String,
    /// Observations that were recorded before and came along.
    pub observations: usize,
    /// What is to be said about it: a clock that is wrong.
    pub notes: Vec<String>,
}

impl Engine {
    /// Starts a journal, and with it a crew of one.
    pub fn init(folder: &Path, person: &str, crew_name: &str) -> Result<Self> {
        let person = person.trim();
        if person.is_empty() || person.len() > ligule_sync::join::MAX_PERSON {
            return Err(EngineError::user(
                "`--person` needs the name of whoever records on this device",
                "for example `--person \"Imke Voss\"`",
            ));
        }
        let secret: [u8; 32] = random()?;
        let key = SigningKey::from_bytes(&secret);
        let nonce = random()?;
        let device = device_id(&key);
        let crew = crew_id(&device, &nonce);
        let log = MembershipLog::found(&key, person, nonce, now().as_millisecond())?;
        let journal = Journal::create(folder, Identity { secret, device, person: person.to_owned(), crew })?;
        journal.kv_put(MEMBERSHIP, &log.to_bytes())?;
        journal.kv_put(CREW_NAME, crew_name.trim().as_bytes())?;
        drop(journal);
        Self::open(folder)
    }

    /// Returns the crew's name.
    pub fn crew_name(&self) -> Result<String> {
        let name = self.journal.kv_get(CREW_NAME)?.unwrap_or_default();
        Ok(String::from_utf8_lossy(&name).into_owned())
    }

    /// Returns a digest of everything that this device holds; equal digests mean equal records.
    pub fn digest(&self) -> Result<String> {
        Ok(hex(&self.journal.root_digest()?[..8]))
    }

    /// Lists the members, and the devices that were.
    pub fn members(&self) -> Result<Vec<MemberLine>> {
        let log = membership(&self.journal)?;
        let own = self.journal.identity().device;
        let own_state = if self.told_removed()? { REMOVED } else { "this device" };
        let mut lines: Vec<MemberLine> = log
            .members()
            .into_iter()
            .map(|(device, member)| MemberLine {
                person: member.person,
                device: device.to_string(),
                state: if device == own { own_state } else { "member" }.to_owned(),
            })
            .collect();
        lines.extend(log.removed().into_iter().map(|(device, removal)| MemberLine {
            person: removal.person,
            device: device.to_string(),
            state: REMOVED.to_owned(),
        }));
        lines.sort_by(|a, b| a.person.cmp(&b.person));
        Ok(lines)
    }

    /// Takes a device out of the crew, by its identifier, the beginning of it, or the person who holds it.
    ///
    /// From then on no member that knows of it exchanges records with that device. What was exchanged before stays where
    /// it is, and members that do not know of it yet still exchange.
    ///
    /// # Errors
    /// Nobody or several go by that name; this very device.
    pub fn remove_member(&mut self, who: &str) -> Result<MemberLine> {
        let log = membership(&self.journal)?;
        let members = log.members();
        let who = who.trim();
        let mut found: Vec<(DeviceId, String)> = members
            .iter()
            .filter(|(device, member)| member.person == who || is_device(device, who))
            .map(|(device, member)| (*device, member.person.clone()))
            .collect();
        if found.len() > 1 {
            let devices: Vec<String> = found.iter().map(|(device, _)| device.to_string()).collect();
            return Err(EngineError::user(
                format!("{} devices of the crew go by `{who}`: {}", found.len(), devices.join(", ")),
                "name the device by its identifier",
            ));
        }
        let Some((device, person)) = found.pop() else {
            if log.removed().iter().any(|(device, removal)| removal.person == who || is_device(device, who)) {
                return Err(EngineError::user(
                    format!("`{who}` was removed from the crew already"),
                    "`ligule crew show` lists the crew; to let its holder in again, invite the device anew",
                ));
            }
            let names = members.into_values().map(|member| member.person);
            return Err(EngineError::user(format!("nobody in the crew goes by `{who}`"), known("members", who, names)));
        };
        if device == self.journal.identity().device {
            return Err(EngineError::user(
                "a device cannot remove itself: no other device would hear of it",
                "ask another member to remove it",
            ));
        }
        // What is here now is what this device answers for as the other's honest work.
        let accepted: Vec<_> =
            self.journal.documents()?.into_iter().map(|document| (document.id, document.heads)).collect();
        let key = key(&self.journal);
        let mut removal = Ok(());
        self.journal.kv_update(MEMBERSHIP, |old| {
            // Read again: another process may have written to it.
            let mut log = MembershipLog::from_bytes(old?).ok()?;
            removal = log.remove(&key, device, accepted, now().as_millisecond());
            removal.is_ok().then(|| log.to_bytes())
        })?;
        removal?;
        Ok(MemberLine { person, device: device.to_string(), state: REMOVED.to_owned() })
    }

    /// Tells why nothing is taken in from a device that was removed: who removed it, when, and what to do.
    pub(crate) fn removed_writes(&self, device: &DeviceId) -> EngineError {
        let told = || -> Result<String> {
            let removal = membership(&self.journal)?.removed().remove(device);
            let (by, at) = match &removal {
                Some(removal) => (self.person_of(&removal.by)?, instant(removal.at)),
                None => (String::new(), String::new()),
            };
            let person = self.person_of(device)?;
            let device = device.to_string();
            let device: &str = device.get(..SHORT).unwrap_or(&device);
            Ok(self
                .reading
                .say(Phrase::DeviceWasRemoved, &[("person", &person), ("device", &device), ("by", &by), ("at", &at)]))
        };
        match told() {
            Ok(told) => EngineError::new(Fault::Exchange, told, self.reading.word(Phrase::RemovedCanReturn)),
            Err(error) => error,
        }
    }

    /// Keeps that another device said that this one was removed: so it can be invited again. The log of a removed device
    /// does not know it, as nobody exchanges with it any more.
    pub(crate) fn heard_of_own_removal(&self) {
        if let Err(error) = self.journal.kv_put(TOLD_REMOVED, &self.journal.identity().device.0) {
            tracing::warn!(%error, "that this device was removed could not be kept");
        }
    }

    /// Tells whether another device said that this one was removed, after the last time it joined.
    fn told_removed(&self) -> Result<bool> {
        Ok(self.journal.kv_get(TOLD_REMOVED)?.is_some_and(|device| device == self.journal.identity().device.0))
    }

    /// Makes a one-time invitation, shows it, and waits for the device that uses it.
    pub async fn invite(&self, listen: SocketAddr, valid: Duration, show: impl FnOnce(&str)) -> Result<Newcomer> {
        let node = self.node(Some(listen)).await?;
        let secret: [u8; 16] = random()?;
        let valid_ms = i64::try_from(valid.as_millis()).unwrap_or(i64::MAX);
        let expires = now().as_millisecond().saturating_add(valid_ms);
        let ticket = Ticket {
            crew: self.journal.identity().crew,
            crew_name: Some(self.crew_name()?).filter(|name| !name.is_empty()),
            inviter: node.device(),
            addresses: node.addresses(),
            secret,
            expires,
        };
        let kept = Kept { secret, expires, used: false };
        self.journal.kv_put(&invitation(&ticket.id()), &serde_json::to_vec(&kept)?)?;
        let (events, mut happened) = tokio::sync::mpsc::unbounded_channel();
        let service = Service {
            stores: Stores { records: self.store(), photos: None },
            desk: Some(Arc::new(Mutex::new(Desk(Arc::clone(&self.journal))))),
            events,
        };
        let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
        let served = node.serve(service, async {
            let _ = stopped.await;
        });
        show(&ticket.to_string());
        let watch = async {
            let joined = loop {
                tokio::select! {
                    event = happened.recv() => match event {
                        Some(ServeEvent::Joined { device, person, clock_ahead }) => {
                            let notes = self.clocks_apart(&person, clock_ahead);
                            break Ok(Newcomer { person, device: device.to_string(), notes });
                        }
                        Some(ServeEvent::Failed { error, .. }) => tracing::warn!(%error, "a device did not join"),
                        Some(_) => {}
                        None => break Err(EngineError::new(Fault::Exchange, "nobody used the invitation", "invite again")),
                    },
                    () = tokio::time::sleep(valid) => break Err(EngineError::new(Fault::Exchange, "the invitation expired unused", "invite again")),
                    _ = tokio::signal::ctrl_c() => break Err(EngineError::new(Fault::Exchange, "interrupted; the invitation is void", "invite again")),
                }
            };
            let _ = stop.send(());
            joined
        };
        let ((), joined) = tokio::join!(served, watch);
        if joined.is_err() {
            Desk(Arc::clone(&self.journal))
                .burn(&ticket.id())
                .map_err(|error| EngineError::new(Fault::System, error.to_string(), ""))?;
        }
        node.close().await;
        joined
    }

    /// Joins a crew. What was recorded here before comes along.
    pub async fn join(&mut self, text: &str) -> Result<Joined> {
        let ticket: Ticket = text.trim().parse().map_err(|error: ligule_sync::ticket::TicketError| {
            EngineError::new(Fault::User, error.to_string(), "copy the whole line that `ligule crew invite` printed")
        })?;
        let identity = self.journal.identity();
        // A journal that was started from an export is of the crew, but its device is no member yet.
        let returns = ticket.crew == identity.crew;
        let members = membership(&self.journal)?.members();
        if returns && members.contains_key(&identity.device) && !self.told_removed()? {
            return Err(EngineError::user(
                "this device belongs to that crew already",
                "`ligule crew show` lists its members; if this device was removed, `ligule sync with` a member first, which \
                 says so: then it can be invited again",
            ));
        }
        if !returns && members.len() > 1 {
            return Err(EngineError::user(
                "this device belongs to a crew of several devices",
                "start another journal for another crew: `ligule --journal FOLDER init …`",
            ));
        }
        let node = self.node(None).await?;
        let JoinAnswer { log, clock_ahead } = node.join(&ticket, &identity.person).await;
        node.close().await;
        let log = log.map_err(|error| self.not_joined(&ticket, &error, clock_ahead))?;
        let observations = if returns { 0 } else { self.journal.adopt_crew(ticket.crew, now())?.observations };
        self.journal.kv_put(MEMBERSHIP, &log.to_bytes())?;
        self.journal.kv_put(TOLD_REMOVED, b"")?;
        let crew = ticket.crew_name.clone().unwrap_or_default();
        self.journal.kv_put(CREW_NAME, crew.as_bytes())?;
        let inviter = log
            .members()
            .get(&ticket.inviter)
            .map_or_else(|| ticket.inviter.to_string(), |member| member.person.clone());
        // As the crew reads that it is of now.
        let notes = self.clocks_apart(&inviter, clock_ahead);
        Ok(Joined { crew, inviter, observations, notes })
    }

    /// Tells that the clocks of this device and of a person's are too far apart, if they are.
    fn clocks_apart(&self, person: &str, ahead: Option<i64>) -> Vec<String> {
        clocks_apart(ahead).map(|ahead| clocks::apart(person, ahead, &self.reading)).into_iter().collect()
    }

    /// Tells why this device was not admitted. An invitation expires by the inviter's clock; this device's own may be wrong.
    fn not_joined(&self, ticket: &Ticket, error: &TransportError, clock_ahead: Option<i64>) -> EngineError {
        let why = error.to_string();
        let late = now().as_millisecond().saturating_sub(ticket.expires);
        let inviter = ticket.inviter.to_string();
        let inviter = inviter.get(..SHORT).unwrap_or(&inviter);
        let (message, hint) = match (self.clocks_apart(inviter, clock_ahead).pop(), u64::try_from(late)) {
            (Some(apart), _) => (format!("{why}; {apart}"), Phrase::InvitationServesOne),
            // The other device's clock is not known: its own may be right.
            (None, Ok(late)) if clock_ahead.is_none() && late > 0 => {
                let reads = now().strftime("%Y-%m-%d %H:%M UTC");
                let with: [(&str, &dyn std::fmt::Display); 3] =
                    [("why", &why), ("now", &reads), ("span", &clocks::span(late, &self.reading))];
                (self.reading.say(Phrase::InvitationOver, &with), Phrase::InvitationOrClock)
            }
            _ => (why, Phrase::InvitationServesOne),
        };
        EngineError::new(Fault::Exchange, message, self.reading.word(hint))
    }
}

/// The fewest letters of a device's identifier by which it can be named: as many as listings show.
const SHORT: usize = 8;

/// Tells whether a text is a device's identifier, or a beginning of it that is long enough.
fn is_device(device: &DeviceId, text: &str) -> bool {
    text.len() >= SHORT && device.to_string().starts_with(&text.to_lowercase())
}

/// Writes an instant, in milliseconds since 1970 UTC, as people read it.
fn instant(at: i64) -> String {
    Timestamp::from_millisecond(at).map_or_else(|_| at.to_string(), |at| at.strftime("%Y-%m-%d %H:%M UTC").to_string())
}

/// Returns the device's key.
pub(crate) fn key(journal: &Journal) -> SigningKey {
    SigningKey::from_bytes(&journal.identity().secret)
}

/// Returns the crew's membership log.
pub(crate) fn membership(journal: &Journal) -> Result<MembershipLog> {
    match journal.kv_get(MEMBERSHIP)? {
        Some(bytes) => Ok(MembershipLog::from_bytes(&bytes).map_err(|error| {
            EngineError::new(Fault::Data, error.to_string(), "ask a member of the crew for a new invitation")
        })?),
        None => Ok(MembershipLog::empty(journal.identity().crew)),
    }
}

/// An invitation as the journal keeps it.
#[derive(Serialize, Deserialize)]
struct Kept {
    secret: [u8; 16],
    expires: i64,
    used: bool,
}

fn invitation(id: &[u8; 8]) -> String {
    format!("{INVITATION}{}", hex(id))
}

/// Keeps invitations in the journal.
struct Desk(Arc<Journal>);

impl Desk {
    fn store(&self) -> JournalStore {
        JournalStore::unscreened(&self.0)
    }
}

impl InviteDesk for Desk {
    fn invitation(&mut self, id: &[u8; 8]) -> Result<Option<OpenInvitation>, StoreError> {
        let failed = |reason: String| StoreError { action: "read an invitation", reason };
        let Some(bytes) = self.0.kv_get(&invitation(id)).map_err(|error| failed(error.to_string()))? else {
            return Ok(None);
        };
        let kept: Kept = serde_json::from_slice(&bytes).map_err(|error| failed(error.to_string()))?;
        Ok(Some(OpenInvitation { secret: kept.secret, expires: kept.expires, used: kept.used }))
    }

    fn burn(&mut self, id: &[u8; 8]) -> Result<bool, StoreError> {
        let mut first = false;
        self.0
            .kv_update(&invitation(id), |old| {
                let mut kept: Kept = serde_json::from_slice(old?).ok()?;
                first = !kept.used;
                kept.used = true;
                serde_json::to_vec(&kept).ok()
            })
            .map_err(|error| StoreError { action: "burn an invitation", reason: error.to_string() })?;
        Ok(first)
    }

    fn membership(&mut self) -> Result<MembershipLog, StoreError> {
        self.store().membership()
    }

    fn keep(&mut self, admission: SignedEntry) -> Result<(), StoreError> {
        self.store().merge_membership(vec![admission])
    }
}
