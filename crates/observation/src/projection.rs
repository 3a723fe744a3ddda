//! From a document to the flat records that everything above works with.

use std::{
    collections::{BTreeMap, BTreeSet, HashMap},
    ops::Bound,
};

use automerge::{ObjId, ObjType, ReadDoc, ScalarValueRef, ValueRef};
use jiff::{
    Timestamp,
    civil::Date,
    tz::{Offset, TimeZone},
};

use crate::{
    document::{AFTER, ENTERED, FieldDocument, KIND, LAT, LON, VOID, WAITS},
    ids::{DeviceId, ObservationKey, hex},
    record::{MOVED_TO, Measured, Place, Record, Value, Void},
};

/// Every record of a document, and what could not be read of it.
#[derive(Debug, Clone, Default)]
pub struct Projection {
    /// The records, by key.
    pub records: Vec<Record>,
    /// Observations that lack what a record needs, with the reason; they are kept and synced untouched.
    pub unreadable: Vec<(ObservationKey, String)>,
}

/// Returns the day of an instant in a feature's own zone; in the device's offset where the zone is not known.
pub fn day(at: Timestamp, zone: Option<&TimeZone>, offset_minutes: i16) -> Date {
    let zone = zone.cloned().unwrap_or_else(|| {
        TimeZone::fixed(Offset::from_seconds(i32::from(offset_minutes) * 60).unwrap_or(Offset::UTC))
    });
    at.to_zoned_datetime(zone).date()
}

/// What a visit says about each of its observations.
#[derive(Debug, Clone)]
pub(crate) struct VisitFacts {
    pub(crate) by: String,
    pub(crate) at: Timestamp,
    pub(crate) offset_minutes: i16,
    pub(crate) place: Option<Place>,
    pub(crate) device: DeviceId,
}

/// What the maps of an observation tell.
#[derive(Default)]
struct Facets {
    kind: Option<String>,
    after: i64,
    lon: Option<i32>,
    lat: Option<i32>,
    voids: Vec<Void>,
    values: BTreeMap<String, Measured>,
    doubtful: BTreeSet<String>,
    /// What waits because of other observations.
    waits: BTreeSet<String>,
}

/// Makes one of the reasons for which an observation was voided: the last one that the document shows, with the others in
/// order, each once.
fn united(mut voids: Vec<Void>) -> Option<Void> {
    let shown = voids.pop()?;
    voids.retain(|void| *void != shown);
    voids.sort_by(|a, b| (a.at, &a.by, &a.why).cmp(&(b.at, &b.by, &b.why)));
    voids.dedup();
    Some(Void { also: voids, ..shown })
}

impl FieldDocument {
    /// Returns every record; `zone` is the feature's own.
    pub fn records(&self, zone: Option<&TimeZone>) -> Vec<Record> {
        self.project(zone).records
    }

    /// Returns every record and what could not be read; `zone` is the feature's own.
    pub fn project(&self, zone: Option<&TimeZone>) -> Projection {
        let mut out = Projection::default();
        let mut visits = HashMap::new();
        let crop = self.crop();
        for item in self.doc.map_range(&self.obs, ..) {
            let key = item.key.to_string();
            let read = match item.value {
                ValueRef::Object(ObjType::Map) => {
                    let maps = if item.conflict { self.maps_of(&key) } else { vec![item.id()] };
                    self.read(&key, &maps, &mut visits, &crop, zone)
                }
                _ => Err("it is not a map".to_owned()),
            };
            match read {
                Ok(record) => out.records.push(record),
                Err(why) => out.unreadable.push((key, why)),
            }
        }
        out
    }

    /// Returns one record; `None` where there is none or it cannot be read.
    pub fn record(&self, key: &str, zone: Option<&TimeZone>) -> Option<Record> {
        let maps = self.observation(key).ok()?;
        self.read(key, &maps, &mut HashMap::new(), &self.crop(), zone).ok()
    }

    /// Returns the keys of a visit's observations.
    pub fn keys_of_visit(&self, visit: &str) -> Vec<ObservationKey> {
        self.doc.map_range(&self.obs, format!("{visit}-")..format!("{visit}.")).map(|i| i.key.into_owned()).collect()
    }

    /// Returns the keys of the observations within bounds, in order.
    pub fn keys_between(&self, bounds: (Bound<&str>, Bound<&str>)) -> Vec<ObservationKey> {
        let bounds = (bounds.0.map(str::to_owned), bounds.1.map(str::to_owned));
        self.doc.map_range(&self.obs, bounds).map(|item| item.key.into_owned()).collect()
    }

    fn read(
        &self,
        key: &str,
        maps: &[ObjId],
        visits: &mut HashMap<String, Option<VisitFacts>>,
        crop: &str,
        zone: Option<&TimeZone>,
    ) -> Result<Record, String> {
        let (visit, _) = key.rsplit_once('-').ok_or("its key names no visit")?;
        let facts = visits
            .entry(visit.to_owned())
            .or_insert_with(|| self.visit(visit))
            .as_ref()
            .ok_or_else(|| format!("its visit {visit} is missing or incomplete"))?;
        let mut facets = Facets::default();
        maps.iter().for_each(|map| self.gather(map, &mut facets));
        let Facets { kind, after, lon, lat, voids, values, doubtful, waits } = facets;
        let void = united(voids);
        let conflicts = if void.is_some() {
            Vec::new()
        } else {
            let mut conflicts: BTreeSet<String> =
                doubtful.into_iter().filter(|measure| self.differ(maps, measure)).collect();
            if waits.contains(MOVED_TO) {
                conflicts.extend(values.keys().cloned());
            }
            conflicts.extend(waits);
            conflicts.into_iter().collect()
        };
        let at = Timestamp::from_millisecond(facts.at.as_millisecond().saturating_add(after))
            .map_err(|_| "its time is out of range")?;
        let place = match (lon, lat) {
            (Some(lon_e7), Some(lat_e7)) => Some(Place { lon_e7, lat_e7 }),
            _ => facts.place,
        };
        Ok(Record {
            key: key.to_owned(),
            visit: visit.to_owned(),
            kind: kind.ok_or("it has no kind")?,
            feature: self.key.feature.clone(),
            season: self.key.season,
            crop: crop.to_owned(),
            at,
            offset_minutes: facts.offset_minutes,
            day: day(at, zone, facts.offset_minutes),
            by: facts.by.clone(),
            device: facts.device,
            place,
            values,
            void,
            conflicts,
        })
    }

    /// Adds what one map of an observation tells; of a value told twice the later map's is shown.
    fn gather(&self, map: &ObjId, to: &mut Facets) {
        let mut entered: Vec<(String, String)> = Vec::new();
        for item in self.doc.map_range(map, ..) {
            match (&*item.key, &item.value) {
                (KIND, ValueRef::Scalar(ScalarValueRef::Str(s))) => to.kind = Some(s.to_string()),
                (AFTER, ValueRef::Scalar(ScalarValueRef::Int(n))) => to.after = *n,
                (LON, ValueRef::Scalar(ScalarValueRef::Int(n))) => to.lon = i32::try_from(*n).ok(),
                (LAT, ValueRef::Scalar(ScalarValueRef::Int(n))) => to.lat = i32::try_from(*n).ok(),
                (VOID, ValueRef::Scalar(ScalarValueRef::Str(s))) => {
                    if item.conflict {
                        let all = self.doc.get_all(map, VOID).unwrap_or_default();
                        to.voids.extend(all.iter().filter_map(|(v, _)| serde_json::from_str(v.as_str()?).ok()));
                    } else {
                        to.voids.extend(serde_json::from_str::<Void>(s).ok());
                    }
                }
                (WAITS, ValueRef::Scalar(ScalarValueRef::Str(s))) => {
                    to.waits.extend(s.split_whitespace().map(str::to_owned));
                }
                (name, ValueRef::Scalar(ScalarValueRef::Str(s))) if name.ends_with(ENTERED) => {
                    entered.push((name[..name.len() - ENTERED.len()].to_owned(), s.to_string()));
                }
                (name, value) if !name.contains(':') => {
                    let Some(value) = plain(value) else { continue };
                    let before = to.values.insert(name.to_owned(), Measured { value, entered: None });
                    if item.conflict || before.is_some() {
                        to.doubtful.insert(name.to_owned());
                    }
                }
                _ => {}
            }
        }
        for (name, text) in entered {
            if let Some(measured) = to.values.get_mut(&name) {
                measured.entered = Some(text);
            }
        }
    }

    pub(crate) fn visit(&self, visit: &str) -> Option<VisitFacts> {
        let (_, id) = self.doc.get(&self.visits, visit).ok()??;
        let ObjId::Id(_, opener, _) = &id else { return None };
        Some(VisitFacts {
            by: self.text_at(&id, "by")?,
            at: Timestamp::from_millisecond(self.int_at(&id, "at")?).ok()?,
            offset_minutes: self.int_at(&id, "offset")?.try_into().ok()?,
            place: self.place_at(&id),
            device: self.who(opener.to_bytes()).map_or(DeviceId([0; 32]), |(device, _)| device),
        })
    }

    /// Returns the device and person behind an actor, as it signed itself into the document.
    pub fn who(&self, actor: &[u8]) -> Option<(DeviceId, String)> {
        let text = self.text_at(&self.writers, &hex(actor))?;
        let (device, person) = text.split_once(' ')?;
        Some((device.parse().ok()?, person.to_owned()))
    }
}

/// Returns what a record can hold of a document's value.
pub(crate) fn plain(value: &ValueRef<'_>) -> Option<Value> {
    match value {
        ValueRef::Scalar(ScalarValueRef::Int(n)) => Some(Value::Int(*n)),
        ValueRef::Scalar(ScalarValueRef::Uint(n)) => i64::try_from(*n).ok().map(Value::Int),
        ValueRef::Scalar(ScalarValueRef::Str(s)) => Some(Value::Text(s.to_string())),
        _ => None,
    }
}
