//! The document of one feature and season: records, their history, and how they are written.
//!
//! Layout (also in `schemas/journal/README.md`): the root holds `schema`, `crew`, `feature`, `season`, `crop` and
//! the maps `visits`, `obs`, `writers`, `fields`. An observation is a flat map of scalars. A key without a colon is
//! a measure; `:kind`, `:version`, `:after`, `:lon`, `:lat`, `:void` are about the observation, and
//! `<measure>:entered` is the text as it was entered.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use automerge::{
    ActorId, AutoCommit, ObjId, ObjType, ROOT, ReadDoc, ScalarValue,
    hydrate::Value as Hydrate,
    transaction::{CommitOptions, Transactable},
};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    error::DocumentError,
    guard::guarded,
    ids::{DeviceId, DocKey, ObservationKey, hex},
    projection::{VisitFacts, day},
    record::{Measured, Place, Record, Value, Void},
    version::{ChangeHash, VersionVector},
};

/// The version of the layout that this program writes; a document tells its own in `schema`.
pub const SCHEMA: i64 = 1;

/// The actor of every genesis change: no device, and the same for all.
pub const GENESIS_ACTOR: [u8; 16] = *b"ligule genesis 1";

pub(crate) const KIND: &str = ":kind";
pub(crate) const VERSION: &str = ":version";
pub(crate) const AFTER: &str = ":after";
pub(crate) const LON: &str = ":lon";
pub(crate) const LAT: &str = ":lat";
pub(crate) const VOID: &str = ":void";
/// What waits for a person because of what was written to other observations: measures, parted by blanks.
pub(crate) const WAITS: &str = ":waits";
pub(crate) const ENTERED: &str = ":entered";

/// Whose hand writes: one person on one device has one actor in a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Writer {
    /// The actor's bytes.
    pub actor: [u8; 16],
    /// The device.
    pub device: DeviceId,
    /// The person.
    pub person: String,
}

/// A visit: who looked, when, from where. It belongs to the actor that opened it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// A ULID.
    pub id: String,
    /// The person who observes.
    pub by: String,
    /// When the visit began, as the device's clock tells it. Kept to the millisecond.
    pub at: Timestamp,
    /// The device's offset from UTC, minutes east.
    pub offset_minutes: i16,
    /// Where it began.
    pub place: Option<Place>,
}

/// An observation to be written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NewObservation {
    /// The visit it is made on; opened if the document does not have it yet.
    pub visit: Visit,
    /// The kind's name.
    pub kind: String,
    /// The kind's version.
    pub version: u32,
    /// The values by measure name.
    pub values: BTreeMap<String, Measured>,
    /// Phenomenon time, where it differs from the visit's.
    pub at: Option<Timestamp>,
    /// Place of the sample, where it differs from the visit's.
    pub place: Option<Place>,
    /// The number within the visit, for facts that are the same whoever brings them in, such as a station's day: two
    /// devices that read one file then write one observation. Without it the visit counts on.
    pub number: Option<u32>,
}

impl NewObservation {
    /// Refuses what no document takes: a visit's identifier that is no ULID, a name that cannot be a measure's, a time
    /// before 1970 (those with a number of their own may have it).
    pub fn check(&self) -> Result<(), DocumentError> {
        if ulid::Ulid::from_string(&self.visit.id).is_err() {
            return Err(DocumentError::BadVisit { got: self.visit.id.clone() });
        }
        let times = [Some(self.visit.at), self.at];
        let early = times.into_iter().flatten().find(|time| *time < Timestamp::UNIX_EPOCH);
        if let (None, Some(got)) = (self.number, early) {
            return Err(DocumentError::BadTime { got });
        }
        match self.values.keys().find(|measure| !is_measure(measure)) {
            Some(bad) => Err(DocumentError::BadMeasure { got: bad.clone() }),
            None => Ok(()),
        }
    }
}

/// The document of one feature and season.
#[derive(Debug, Clone)]
pub struct FieldDocument {
    pub(crate) key: DocKey,
    pub(crate) doc: AutoCommit,
    pub(crate) obs: ObjId,
    pub(crate) visits: ObjId,
    pub(crate) writers: ObjId,
    pub(crate) fields: ObjId,
    writer: Option<Writer>,
    pub(crate) open: Option<Open>,
}

/// The visit that was written to last: reading it from the document again costs more than the write.
#[derive(Debug, Clone)]
pub(crate) struct Open {
    /// What the document held then; it tells nothing about any other.
    pub(crate) heads: Vec<automerge::ChangeHash>,
    /// The actor that wrote, and which therefore has signed.
    pub(crate) actor: [u8; 16],
    pub(crate) visit: OpenVisit,
    pub(crate) crop: String,
}

/// An observation that was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Its key.
    pub key: ObservationKey,
    /// Its record, as [`FieldDocument::record`] would read it, where that is known without reading.
    pub record: Option<Box<Record>>,
}

impl From<ObservationKey> for Written {
    fn from(key: ObservationKey) -> Self {
        Self { key, record: None }
    }
}

impl FieldDocument {
    /// Starts the document: its genesis change and nothing else. Every device that starts it makes the same bytes.
    pub fn new(key: DocKey) -> Self {
        let mut doc = AutoCommit::new().with_actor(ActorId::from(&GENESIS_ACTOR[..]));
        let mut make = || {
            doc.put(ROOT, "schema", SCHEMA)?;
            doc.put(ROOT, "crew", key.crew.to_string())?;
            doc.put(ROOT, "feature", key.feature.to_string())?;
            doc.put(ROOT, "season", i64::from(key.season))?;
            let obs = doc.put_object(ROOT, "obs", ObjType::Map)?;
            let visits = doc.put_object(ROOT, "visits", ObjType::Map)?;
            let writers = doc.put_object(ROOT, "writers", ObjType::Map)?;
            let fields = doc.put_object(ROOT, "fields", ObjType::Map)?;
            Ok::<_, automerge::AutomergeError>((obs, visits, writers, fields))
        };
        let (obs, visits, writers, fields) = make().expect("an empty document takes any key");
        doc.commit_with(CommitOptions::default().with_time(0));
        Self { key, doc, obs, visits, writers, fields, writer: None, open: None }
    }

    /// Returns the hash of the document's genesis change.
    pub fn genesis(key: &DocKey) -> ChangeHash {
        Self::new(key.clone()).heads()[0]
    }

    /// Loads a document from a snapshot and the changes written after it, in order.
    ///
    /// *Errors:* the bytes cannot be read, in whole or in part; or they are of another document.
    pub fn load(key: DocKey, snapshot: &[u8], changes: &[Vec<u8>]) -> Result<Self, DocumentError> {
        let mut bytes = snapshot.to_vec();
        changes.iter().for_each(|c| bytes.extend_from_slice(c));
        let damaged = |why: String| DocumentError::Damaged { key: key.clone(), why };
        let doc = guarded(|| AutoCommit::load(&bytes)).map_err(damaged)?.map_err(|e| damaged(e.to_string()))?;
        Self::from_automerge(key, doc)
    }

    pub(crate) fn from_automerge(key: DocKey, mut doc: AutoCommit) -> Result<Self, DocumentError> {
        let genesis = automerge::ChangeHash(Self::genesis(&key));
        if doc.get_change_meta_by_hash(&genesis).is_none() {
            return Err(DocumentError::OtherDocument { key });
        }
        let map = |name: &str| match doc.get(ROOT, name) {
            Ok(Some((automerge::Value::Object(ObjType::Map), id))) => Ok(id),
            _ => Err(DocumentError::Damaged { key: key.clone(), why: format!("its map `{name}` is missing") }),
        };
        let (obs, visits, writers, fields) = (map("obs")?, map("visits")?, map("writers")?, map("fields")?);
        Ok(Self { key, doc, obs, visits, writers, fields, writer: None, open: None })
    }

    /// Takes in changes that this device's journal already holds (written by another of its processes).
    ///
    /// Bytes from another device go through [`crate::outside::apply_checked`] instead. The caller compares the heads.
    pub fn catch_up(&mut self, changes: &[Vec<u8>]) -> Result<(), DocumentError> {
        let bytes = changes.concat();
        let key = self.key.clone();
        let damaged = |why: String| DocumentError::Damaged { key, why };
        match guarded(|| self.doc.load_incremental(&bytes)) {
            Ok(Ok(_)) => Ok(()),
            Ok(Err(e)) => Err(damaged(e.to_string())),
            Err(why) => Err(damaged(why)),
        }
    }

    /// Returns a copy that has further changes; for taking out of damaged storage what holds together.
    ///
    /// *Errors:* the changes cannot be read, or they stand on others that the document does not have.
    pub fn with_changes(&self, changes: &[u8]) -> Result<Self, DocumentError> {
        let damaged = |why: &str| DocumentError::Damaged { key: self.key.clone(), why: why.to_owned() };
        let mut copy = self.clone();
        let before = copy.change_count();
        copy.catch_up(&[changes.to_vec()])?;
        if !guarded(|| copy.doc.get_missing_deps(&[])).map_err(|why| damaged(&why))?.is_empty() {
            return Err(damaged("changes before these are missing"));
        }
        if copy.change_count() == before {
            return Err(damaged("there are no new changes in them"));
        }
        Ok(copy)
    }

    /// Reads in a saved document what it is about; `None` where it cannot be read.
    pub fn key_in(snapshot: &[u8]) -> Option<DocKey> {
        let doc = guarded(|| AutoCommit::load(snapshot)).ok()?.ok()?;
        let text = |key: &str| match doc.get(ROOT, key) {
            Ok(Some((automerge::Value::Scalar(s), _))) => s.as_str().map(str::to_owned),
            _ => None,
        };
        let season = match doc.get(ROOT, "season") {
            Ok(Some((automerge::Value::Scalar(s), _))) => i32::try_from(s.as_i64()?).ok()?,
            _ => return None,
        };
        Some(DocKey { crew: text("crew")?.parse().ok()?, feature: text("feature")?.parse().ok()?, season })
    }

    /// Returns the document's key.
    pub fn key(&self) -> &DocKey {
        &self.key
    }

    /// Returns the heads, sorted.
    pub fn heads(&mut self) -> Vec<ChangeHash> {
        let mut heads: Vec<_> = self.doc.get_heads().iter().map(|h| h.0).collect();
        heads.sort_unstable();
        heads
    }

    /// Returns the highest sequence number held of every actor.
    pub fn version_vector(&mut self) -> VersionVector {
        let mut vector = VersionVector::new();
        for change in self.doc.get_changes_meta(&[]) {
            let seq = vector.entry(change.actor.to_bytes().to_vec()).or_insert(0);
            *seq = (*seq).max(change.seq);
        }
        vector
    }

    /// Returns the changes that a copy with that version vector lacks, as raw change chunks in causal order.
    pub fn changes_since(&mut self, vector: &VersionVector) -> Vec<Vec<u8>> {
        let wanted: Vec<_> = self
            .doc
            .get_changes_meta(&[])
            .into_iter()
            .filter(|c| c.seq > vector.get(c.actor.to_bytes()).copied().unwrap_or(0))
            .map(|c| c.hash)
            .collect();
        wanted.iter().filter_map(|h| self.doc.get_change_by_hash(h)).map(|c| c.raw_bytes().to_vec()).collect()
    }

    /// Returns the changes that are not among those `heads` stand on, as raw change chunks in causal order.
    pub fn changes_after(&mut self, heads: &[ChangeHash]) -> Vec<Vec<u8>> {
        let heads: Vec<_> = heads.iter().map(|h| automerge::ChangeHash(*h)).collect();
        self.doc.get_changes(&heads).iter().map(|c| c.raw_bytes().to_vec()).collect()
    }

    /// Tells whether the document contains a change.
    pub fn contains(&mut self, hash: &ChangeHash) -> bool {
        self.doc.get_change_by_hash(&automerge::ChangeHash(*hash)).is_some()
    }

    /// Returns the number of changes held.
    pub fn change_count(&self) -> u64 {
        self.doc.stats().num_changes
    }

    /// Saves the whole document without reading it back: for handing it on, not for keeping it.
    ///
    /// *Errors:* the merge library gave up.
    pub fn save(&mut self) -> Result<Vec<u8>, DocumentError> {
        guarded(|| self.doc.save()).map_err(|why| DocumentError::Damaged { key: self.key.clone(), why })
    }

    /// Saves the whole document and reads it back before returning it.
    ///
    /// *Errors:* what was saved cannot be read.
    pub fn save_verified(&mut self) -> Result<Vec<u8>, DocumentError> {
        let key = self.key.clone();
        let damaged = |why: String| DocumentError::Damaged { key, why };
        match guarded(|| self.doc.save_and_verify()) {
            Ok(Ok(bytes)) => Ok(bytes),
            Ok(Err(e)) => Err(damaged(e.to_string())),
            Err(why) => Err(damaged(why)),
        }
    }

    /// Says whose hand writes from here on.
    pub fn set_writer(&mut self, writer: Writer) {
        self.doc.set_actor(ActorId::from(&writer.actor[..]));
        self.writer = Some(writer);
    }

    fn writer(&self) -> Result<&Writer, DocumentError> {
        self.writer.as_ref().ok_or_else(|| DocumentError::NoWriter { key: self.key.clone() })
    }

    /// Writes into `writers`, once, which device and person the present actor is.
    fn sign(&mut self) -> Result<(), DocumentError> {
        let writer = self.writer()?.clone();
        let actor = hex(&writer.actor);
        if self.lib(|d| Ok(d.doc.get(&d.writers, actor.as_str())?.is_none()))? {
            let text = format!("{} {}", writer.device, writer.person);
            self.lib(|d| d.doc.put(&d.writers, actor.as_str(), text.as_str()))?;
        }
        Ok(())
    }

    pub(crate) fn lib<T>(
        &mut self,
        act: impl FnOnce(&mut Self) -> Result<T, automerge::AutomergeError>,
    ) -> Result<T, DocumentError> {
        act(self).map_err(|e| DocumentError::Library { key: self.key.clone(), why: e.to_string() })
    }

    /// Runs one act as one change; an act that fails leaves nothing behind.
    pub(crate) fn change<T>(
        &mut self,
        at: Timestamp,
        act: impl FnOnce(&mut Self) -> Result<T, DocumentError>,
    ) -> Result<T, DocumentError> {
        self.change_signed(at, |d| d.sign().and_then(|()| act(d)))
    }

    /// Runs one act as one change of a writer who has signed; an act that fails leaves nothing behind.
    fn change_signed<T>(
        &mut self,
        at: Timestamp,
        act: impl FnOnce(&mut Self) -> Result<T, DocumentError>,
    ) -> Result<T, DocumentError> {
        match act(self) {
            Ok(value) => {
                self.doc.commit_with(CommitOptions::default().with_time(at.as_second()));
                Ok(value)
            }
            Err(e) => {
                self.doc.rollback();
                Err(e)
            }
        }
    }

    /// Sets the crop of this feature in this season: `corn`, `soybean`.
    pub fn set_crop(&mut self, crop: &str, at: Timestamp) -> Result<(), DocumentError> {
        if self.crop_now() == crop {
            return Ok(());
        }
        self.change(at, |d| d.lib(|d| d.doc.put(ROOT, "crop", crop)))
    }

    /// Returns what [`Self::crop`] does, without reading where nothing was written since the last observation.
    pub fn crop_now(&mut self) -> String {
        let heads = self.doc.get_heads();
        match self.open.as_ref().filter(|open| open.heads == heads) {
            Some(open) => open.crop.clone(),
            None => self.crop(),
        }
    }

    /// Returns the crop; empty where none was set.
    pub fn crop(&self) -> String {
        self.text_at(&ROOT, "crop").unwrap_or_default()
    }

    pub(crate) fn text_at(&self, map: &ObjId, key: &str) -> Option<String> {
        match self.doc.get(map, key) {
            Ok(Some((automerge::Value::Scalar(s), _))) => s.as_str().map(str::to_owned),
            _ => None,
        }
    }

    pub(crate) fn int_at(&self, map: &ObjId, key: &str) -> Option<i64> {
        match self.doc.get(map, key) {
            Ok(Some((automerge::Value::Scalar(s), _))) => s.as_i64(),
            _ => None,
        }
    }

    /// Appends observations in one change and returns their keys, in order.
    ///
    /// A visit goes on only under the actor that opened it. Where another one did (a copied or restored journal),
    /// a new visit is opened under an identifier from `fresh`, so that two copies can never give out one key twice.
    /// An observation that brings its own number keeps its visit whoever opened it; where its key is taken already,
    /// what is there stays. *Errors:* no observation is written where one of them cannot be: a visit's identifier is no
    /// ULID, a name cannot be a measure's, or a time lies before 1970 (a station's numbered days may).
    pub fn append(
        &mut self,
        new: &[NewObservation],
        at: Timestamp,
        fresh: &mut dyn FnMut() -> String,
    ) -> Result<Vec<ObservationKey>, DocumentError> {
        Ok(self.append_written(new, at, fresh)?.into_iter().map(|written| written.key).collect())
    }

    /// Does what [`Self::append`] does, and tells the records of what it wrote, for lists to be brought up to date.
    pub fn append_written(
        &mut self,
        new: &[NewObservation],
        at: Timestamp,
        fresh: &mut dyn FnMut() -> String,
    ) -> Result<Vec<Written>, DocumentError> {
        let writer = self.writer()?.actor;
        let actor = ActorId::from(&writer[..]);
        new.iter().try_for_each(NewObservation::check)?;
        let crop = self.crop_now();
        let heads = self.doc.get_heads();
        let open = self.open.take().filter(|open| open.heads == heads && open.actor == writer);
        let signed = open.is_some();
        let mut visits: HashMap<&str, OpenVisit> = HashMap::new();
        let known = open.and_then(|open| Some((new.iter().find(|o| o.visit.id == open.visit.id)?, open.visit)));
        if let Some((observation, visit)) = known.filter(|(observation, _)| observation.number.is_none()) {
            visits.insert(&observation.visit.id, visit);
        }
        let act = |d: &mut Self| {
            let mut written: Vec<Written> = Vec::with_capacity(new.len());
            for observation in new {
                let visit = match visits.get_mut(observation.visit.id.as_str()) {
                    Some(open) => open,
                    None => {
                        let own = observation.number.is_none().then_some(&actor);
                        let open = d.open_visit(&observation.visit, own, fresh)?;
                        visits.entry(&observation.visit.id).or_insert(open)
                    }
                };
                let number = observation.number.unwrap_or(visit.last + 1);
                visit.last = visit.last.max(number);
                let key = format!("{}-{number:02}", visit.id);
                if observation.number.is_some() && d.observation(&key).is_ok() {
                    written.push(key.into());
                    continue;
                }
                let flat = flat(observation, visit).into_iter().map(|(name, value)| (name, Hydrate::Scalar(value)));
                let value = Hydrate::Map(flat.collect::<HashMap<_, _>>().into());
                d.lib(|d| d.doc.batch_create_object(&d.obs, key.as_str(), &value, false))?;
                let record = visit.told(&d.key, &key, observation, &crop).map(Box::new);
                written.push(Written { key, record });
            }
            let last = new.last().and_then(|last| visits.remove(last.visit.id.as_str()));
            Ok((written, last.filter(|_| new.iter().all(|o| o.number.is_none()))))
        };
        let (written, last) = if signed { self.change_signed(at, act) } else { self.change(at, act) }?;
        let heads = self.doc.get_heads();
        self.open = last.map(|visit| Open { heads, actor: writer, visit, crop });
        Ok(written)
    }

    /// Opens a visit or goes on with it; where `own` is given, only under that actor.
    fn open_visit(
        &mut self,
        visit: &Visit,
        own: Option<&ActorId>,
        fresh: &mut dyn FnMut() -> String,
    ) -> Result<OpenVisit, DocumentError> {
        let known = self.lib(|d| Ok(d.doc.get(&d.visits, visit.id.as_str())?.map(|(_, id)| id)))?;
        let id = match known {
            Some(ObjId::Id(n, opener, i)) if own.is_none_or(|own| opener == *own) => {
                let map = ObjId::Id(n, opener, i);
                return Ok(OpenVisit {
                    last: if own.is_some() { self.last_number(&visit.id)? } else { 0 },
                    id: visit.id.clone(),
                    at: self.int_at(&map, "at").unwrap_or(0),
                    place: self.place_at(&map),
                    facts: self.visit(&visit.id),
                });
            }
            Some(_) => fresh(),
            None => visit.id.clone(),
        };
        let map = of_visit(visit).into_iter().map(|(name, value)| (name, Hydrate::Scalar(value)));
        let value = Hydrate::Map(map.collect::<HashMap<_, _>>().into());
        self.lib(|d| d.doc.batch_create_object(&d.visits, id.as_str(), &value, false))?;
        let device = self.writer()?.device;
        Ok(OpenVisit { id, ..OpenVisit::new(visit, device) })
    }

    /// Returns the place that the map of a visit tells.
    pub(crate) fn place_at(&self, map: &ObjId) -> Option<Place> {
        Some(Place {
            lon_e7: self.int_at(map, "lon")?.try_into().ok()?,
            lat_e7: self.int_at(map, "lat")?.try_into().ok()?,
        })
    }

    /// Finds the highest number given out in a visit; numbers have no gaps, so doubling and halving finds it.
    fn last_number(&mut self, visit: &str) -> Result<u32, DocumentError> {
        let mut has = |n: u32| {
            let key = format!("{visit}-{n:02}");
            self.lib(|d| Ok(d.doc.get(&d.obs, key.as_str())?.is_some()))
        };
        let (mut low, mut high) = (0, 1);
        while has(high)? {
            (low, high) = (high, high * 2);
        }
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if has(middle)? { low = middle } else { high = middle }
        }
        Ok(low)
    }

    /// Returns the maps of an observation; the one that wins comes last.
    ///
    /// There is one, unless two devices wrote an observation under the same number before they met (a station's day).
    /// Then both count: what is written goes into both, and where they differ that is a conflict.
    pub(crate) fn observation(&self, key: &str) -> Result<Vec<ObjId>, DocumentError> {
        let maps = self.maps_of(key);
        if maps.is_empty() {
            return Err(DocumentError::UnknownObservation { key: self.key.clone(), observation: key.to_owned() });
        }
        Ok(maps)
    }

    pub(crate) fn maps_of(&self, key: &str) -> Vec<ObjId> {
        let all = self.doc.get_all(&self.obs, key).unwrap_or_default();
        all.into_iter()
            .filter(|(value, _)| matches!(value, automerge::Value::Object(ObjType::Map)))
            .map(|(_, id)| id)
            .collect()
    }

    /// Returns the version of its kind under which an observation was written.
    ///
    /// *Errors:* there is no such observation.
    pub fn kind_version(&self, key: &str) -> Result<u32, DocumentError> {
        let mut versions = self.observation(key)?.into_iter().filter_map(|map| self.int_at(&map, VERSION));
        Ok(versions.next_back().and_then(|version| u32::try_from(version).ok()).unwrap_or(1))
    }

    /// Corrects one value, or settles a conflict with the one that shall hold; what held before stays in the history.
    pub fn amend(&mut self, key: &str, measure: &str, to: &Measured, at: Timestamp) -> Result<(), DocumentError> {
        self.amend_all(key, &[(measure.to_owned(), to.clone())], at)
    }

    /// Corrects several values of an observation in one change. What held before stays in the history.
    ///
    /// A value supersedes every candidate this device has seen. One that holds already is written again, so that the history
    /// tells who decided, and when. Value and entered text are written together, so that of two concurrent corrections one
    /// wins in both.
    /// *Errors:* nothing is written where one of them cannot be.
    pub fn amend_all(&mut self, key: &str, to: &[(String, Measured)], at: Timestamp) -> Result<(), DocumentError> {
        if let Some((bad, _)) = to.iter().find(|(measure, _)| !is_measure(measure)) {
            return Err(DocumentError::BadMeasure { got: bad.clone() });
        }
        let maps = self.observation(key)?;
        if to.is_empty() {
            return Ok(());
        }
        self.change(at, |d| {
            for (map, (measure, to)) in maps.iter().flat_map(|map| to.iter().map(move |one| (map, one))) {
                d.put(map, measure, scalar(&to.value))?;
                let entered = to.entered.as_deref().map_or(ScalarValue::Null, ScalarValue::from);
                d.put(map, &format!("{measure}{ENTERED}"), entered)?;
            }
            Ok(())
        })
    }

    /// Writes a field so that it supersedes every value there, also where the value is there already: whoever wrote another
    /// one meanwhile does not agree with this person.
    ///
    /// Asked to put the value that wins already, the merge library writes nothing, or deletes the losing ones instead.
    /// Nothing is ever deleted here, and devices refuse deletions: another value goes between.
    pub(crate) fn put(&mut self, map: &ObjId, field: &str, value: ScalarValue) -> Result<(), DocumentError> {
        let stands = self.lib(|d| {
            let values = d.doc.get_all(map, field)?;
            Ok(values.last().and_then(|(v, _)| v.as_scalar()) == Some(&value))
        })?;
        if stands {
            return self.put_anew(map, field, value);
        }
        self.lib(|d| d.doc.put(map, field, value))
    }

    /// Writes a field in two operations, whatever is there.
    pub(crate) fn put_anew(&mut self, map: &ObjId, field: &str, value: ScalarValue) -> Result<(), DocumentError> {
        self.lib(|d| {
            d.doc.put(map, field, ScalarValue::Boolean(value == ScalarValue::Boolean(false)))?;
            d.doc.put(map, field, value)
        })
    }

    /// Marks an observation as void. Nothing is deleted: its values and their history stay.
    pub fn void(&mut self, key: &str, void: &Void) -> Result<(), DocumentError> {
        self.carry_void(key, void, void.at)
    }

    /// Marks an observation as void for what was said of another before; `at` is now.
    pub fn carry_void(&mut self, key: &str, void: &Void, at: Timestamp) -> Result<(), DocumentError> {
        let maps = self.observation(key)?;
        let own = Void { also: Vec::new(), ..void.clone() };
        let text = serde_json::to_string(&own).expect("a void is plain text");
        self.change(at, |d| maps.iter().try_for_each(|map| d.put(map, VOID, text.as_str().into())))
    }

    /// Marks which measures of an observation wait for a person because of what was written to other observations, in place
    /// of what was marked before. Nothing is written where that is marked already.
    pub fn mark_waiting(&mut self, key: &str, measures: &BTreeSet<String>, at: Timestamp) -> Result<(), DocumentError> {
        let maps = self.observation(key)?;
        let text = measures.iter().map(String::as_str).collect::<Vec<_>>().join(" ");
        if maps.iter().all(|map| self.text_at(map, WAITS).unwrap_or_default() == text) {
            return Ok(());
        }
        self.change(at, |d| maps.iter().try_for_each(|map| d.put(map, WAITS, text.as_str().into())))
    }
}

/// Tells whether a text can name a measure: no colon, no control characters, not empty, at most 64 bytes.
pub(crate) fn is_measure(name: &str) -> bool {
    !name.is_empty() && name.len() <= 64 && name.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'))
}

pub(crate) fn scalar(value: &Value) -> ScalarValue {
    match value {
        Value::Int(n) => ScalarValue::Int(*n),
        Value::Text(t) => ScalarValue::Str(t.as_str().into()),
    }
}

/// A visit that observations are being added to.
#[derive(Debug, Clone)]
pub(crate) struct OpenVisit {
    pub(crate) id: String,
    /// The highest number given out in it.
    pub(crate) last: u32,
    /// When it began, milliseconds since 1970.
    at: i64,
    place: Option<Place>,
    /// What it tells of its observations; `None` where it is incomplete.
    pub(crate) facts: Option<VisitFacts>,
}

impl OpenVisit {
    /// Returns a visit that is opened on a device, under its own identifier.
    pub(crate) fn new(visit: &Visit, device: DeviceId) -> Self {
        let at = visit.at.as_millisecond();
        let facts = VisitFacts {
            by: visit.by.clone(),
            at: Timestamp::from_millisecond(at).unwrap_or(visit.at),
            offset_minutes: visit.offset_minutes,
            place: visit.place,
            device,
        };
        Self { id: visit.id.clone(), last: 0, at, place: visit.place, facts: Some(facts) }
    }

    /// Tells the record of a new observation of the visit.
    pub(crate) fn told(&self, document: &DocKey, key: &str, new: &NewObservation, crop: &str) -> Option<Record> {
        let facts = self.facts.clone()?;
        let at = Timestamp::from_millisecond(new.at.unwrap_or(new.visit.at).as_millisecond()).ok()?;
        Some(Record {
            key: key.to_owned(),
            visit: self.id.clone(),
            kind: new.kind.clone(),
            feature: document.feature.clone(),
            season: document.season,
            crop: crop.to_owned(),
            at,
            offset_minutes: facts.offset_minutes,
            day: day(at, None, facts.offset_minutes),
            by: facts.by,
            device: facts.device,
            place: new.place.or(new.visit.place).or(facts.place),
            values: new.values.clone(),
            void: None,
            conflicts: Vec::new(),
        })
    }
}

/// Returns what a visit's map holds, in no order.
pub(crate) fn of_visit(visit: &Visit) -> Vec<(String, ScalarValue)> {
    let mut map = vec![
        ("by".into(), visit.by.as_str().into()),
        ("at".into(), ScalarValue::Timestamp(visit.at.as_millisecond())),
        ("offset".into(), ScalarValue::Int(i64::from(visit.offset_minutes))),
    ];
    if let Some(place) = visit.place {
        map.push(("lon".into(), ScalarValue::Int(i64::from(place.lon_e7))));
        map.push(("lat".into(), ScalarValue::Int(i64::from(place.lat_e7))));
    }
    map
}

/// Returns what an observation's map holds, in no order.
pub(crate) fn flat(new: &NewObservation, visit: &OpenVisit) -> Vec<(String, ScalarValue)> {
    let mut map =
        vec![(KIND.into(), new.kind.as_str().into()), (VERSION.into(), ScalarValue::Int(i64::from(new.version)))];
    let after = new.at.unwrap_or(new.visit.at).as_millisecond() - visit.at;
    if after != 0 {
        map.push((AFTER.into(), ScalarValue::Int(after)));
    }
    if let Some(place) = new.place.or(new.visit.place).filter(|p| visit.place != Some(*p)) {
        map.push((LON.into(), ScalarValue::Int(i64::from(place.lon_e7))));
        map.push((LAT.into(), ScalarValue::Int(i64::from(place.lat_e7))));
    }
    for (name, measured) in &new.values {
        map.push((name.clone(), scalar(&measured.value)));
        if let Some(text) = &measured.entered {
            map.push((format!("{name}{ENTERED}"), text.as_str().into()));
        }
    }
    map
}
