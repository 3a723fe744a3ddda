//! An invented crew: keys, a membership log, and a store over real field documents in memory.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use ligule_observation::document::{FieldDocument, NewObservation, Visit, Writer};
use ligule_observation::ids::{CrewId, DeviceId, DocId, DocKey, Feature};
use ligule_observation::outside::{Limits, Refused, apply_checked};
use ligule_observation::record::{Measured, Value};
use ligule_observation::version::digest;
use ligule_sync::join::{InviteDesk, OpenInvitation};
use ligule_sync::membership::{MembershipLog, SignedEntry, device_id};
use ligule_sync::{Applied, DocEntry, Local, Refusal, RefusalCode, SigningKey, Store, StoreError, VersionVector};

/// 2026-06-01T12:00Z in milliseconds.
pub const NOW: i64 = 1_780_315_200_000;

/// Returns the key of device `number`.
pub fn key(number: u8) -> SigningKey {
    SigningKey::from_bytes(&[number; 32])
}

/// Returns the id of device `number`.
pub fn device(number: u8) -> DeviceId {
    device_id(&key(number))
}

/// A crew founded by device 1, who admitted devices 2 to `size`.
pub fn crew(size: u8) -> MembershipLog {
    let mut log = MembershipLog::found(&key(1), "person 1", [5; 16], NOW).unwrap();
    for number in 2..=size {
        log.admit(&key(1), device(number), &format!("person {number}"), NOW, NOW + 1).unwrap();
    }
    log
}

/// Returns the key of a field's document for 2026.
pub fn field(crew: CrewId, number: u8) -> DocKey {
    DocKey { crew, feature: Feature::Field(format!("01J000000000000000000000{number:02}")), season: 2026 }
}

/// Returns what device `number` says of itself in an exchange.
pub fn local(log: &MembershipLog, number: u8) -> Local {
    Local { crew: log.crew(), device: device(number), program: "0.1.0".to_owned(), now: NOW, photos: true }
}

/// Keeps documents whose every change came through the checks for bytes from outside.
pub struct DocStore {
    /// Whose it is.
    pub device: u8,
    /// Who belongs to the crew, as this device knows.
    pub log: MembershipLog,
    /// The documents.
    pub docs: BTreeMap<DocId, FieldDocument>,
    /// Open and used invitations.
    pub invitations: BTreeMap<[u8; 8], OpenInvitation>,
    /// Documents of which anything but digests was asked.
    pub opened: BTreeSet<DocId>,
    recorded: u64,
}

impl DocStore {
    /// Returns an empty store.
    pub fn new(device: u8, log: MembershipLog) -> Self {
        let (docs, invitations, opened) = (BTreeMap::new(), BTreeMap::new(), BTreeSet::new());
        Self { device, log, docs, invitations, opened, recorded: 0 }
    }

    /// Records one stand count in a field.
    pub fn record(&mut self, number: u8) {
        self.recorded += 1;
        let at = Timestamp::from_millisecond(NOW).unwrap();
        let place = self.recorded;
        let visit = Visit {
            id: format!("01J0000000000{:03}0{place:09}", self.device),
            by: format!("person {}", self.device),
            at,
            offset_minutes: -300,
            place: None,
        };
        let count = Measured { value: Value::Int(20 + i64::try_from(place % 15).unwrap()), entered: None };
        let new = NewObservation {
            visit,
            kind: "stand-count".to_owned(),
            version: 1,
            values: BTreeMap::from([("plants".to_owned(), count)]),
            at: None,
            place: None,
            number: None,
        };
        let key = field(self.log.crew(), number);
        let document = self.docs.entry(key.id()).or_insert_with(|| FieldDocument::new(key.clone()));
        let mut actor = [self.device; 16];
        actor[0] = number;
        document.set_writer(Writer { actor, device: device(self.device), person: format!("person {}", self.device) });
        document.append(&[new], at, &mut || unreachable!("each visit is new")).unwrap();
    }

    /// The heads of every document: equal for two stores that hold the same changes.
    pub fn heads(&mut self) -> BTreeMap<DocId, Vec<[u8; 32]>> {
        let sorted = |document: &mut FieldDocument| {
            let mut heads = document.heads();
            heads.sort_unstable();
            heads
        };
        self.docs.iter_mut().map(|(doc, document)| (*doc, sorted(document))).collect()
    }

    /// Returns how many changes there are in all documents.
    pub fn changes(&self) -> u64 {
        self.docs.values().map(FieldDocument::change_count).sum()
    }

    /// Keeps the inviter's half of a ticket.
    pub fn invite(&mut self, ticket: &ligule_sync::ticket::Ticket) {
        let open = OpenInvitation { secret: ticket.secret, expires: ticket.expires, used: false };
        self.invitations.insert(ticket.id(), open);
    }
}

impl Store for DocStore {
    fn inventory(&mut self) -> Result<Vec<DocEntry>, StoreError> {
        let entry = |(id, document): (&DocId, &mut FieldDocument)| DocEntry {
            id: *id,
            key: document.key().clone(),
            digest: digest(&document.heads()),
        };
        Ok(self.docs.iter_mut().map(entry).collect())
    }

    fn vector(&mut self, doc: &DocId) -> Result<VersionVector, StoreError> {
        self.opened.insert(*doc);
        Ok(self.docs.get_mut(doc).map(FieldDocument::version_vector).unwrap_or_default())
    }

    fn changes_since(&mut self, doc: &DocId, vector: &VersionVector) -> Result<Vec<Vec<u8>>, StoreError> {
        self.opened.insert(*doc);
        Ok(self.docs.get_mut(doc).map(|document| document.changes_since(vector)).unwrap_or_default())
    }

    fn apply(&mut self, _from: &DeviceId, key: &DocKey, changes: Vec<Vec<u8>>) -> Result<Applied, Refusal> {
        let document = self.docs.get(&key.id()).cloned().unwrap_or_else(|| FieldDocument::new(key.clone()));
        let now = Timestamp::from_millisecond(NOW).unwrap();
        let applied = apply_checked(&document, &changes, &Limits::default(), now).map_err(|refused| Refusal {
            code: match refused {
                Refused::MissingDependencies { .. } => RefusalCode::MissingDependencies,
                Refused::OtherDocument => RefusalCode::OtherDocument,
                Refused::TooLarge { .. } => RefusalCode::TooLarge,
                _ => RefusalCode::Malformed,
            },
            reason: refused.to_string(),
        })?;
        let mut document = applied.document;
        let digest = digest(&document.heads());
        self.docs.insert(key.id(), document);
        Ok(Applied { new_changes: applied.added.len() as u64, digest })
    }

    fn membership(&mut self) -> Result<MembershipLog, StoreError> {
        Ok(self.log.clone())
    }

    fn merge_membership(&mut self, entries: Vec<SignedEntry>) -> Result<(), StoreError> {
        self.log.merge(entries);
        Ok(())
    }
}

impl InviteDesk for DocStore {
    fn invitation(&mut self, id: &[u8; 8]) -> Result<Option<OpenInvitation>, StoreError> {
        Ok(self.invitations.get(id).cloned())
    }

    fn burn(&mut self, id: &[u8; 8]) -> Result<bool, StoreError> {
        Ok(self.invitations.get_mut(id).is_some_and(|open| !std::mem::replace(&mut open.used, true)))
    }

    fn membership(&mut self) -> Result<MembershipLog, StoreError> {
        Ok(self.log.clone())
    }

    fn keep(&mut self, admission: SignedEntry) -> Result<(), StoreError> {
        self.log.merge([admission]);
        Ok(())
    }
}
