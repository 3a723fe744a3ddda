//! Lists, read from the projection without loading a document.

use std::{
    collections::{BTreeMap, HashMap},
    sync::Arc,
};

use jiff::{Timestamp, tz::TimeZone};
use ligule_observation::{
    conflict::Conflict,
    field::{Field, merge::United, roster::Kept, split::Wholes},
    history::HistoryEntry,
    ids::{CrewId, DeviceId, DocId, DocKey, Feature, ObservationKey},
    projection::day,
    record::{Measured, Place, Record},
};
use rusqlite::{OptionalExtension, Row, ToSql, Transaction, TransactionBehavior};

use crate::{
    codec::values_from_text,
    documents::odd,
    error::JournalError,
    store::{Inner, Journal},
};

/// Which records are wanted; what is left out is not asked about.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// Of this feature.
    pub feature: Option<Feature>,
    /// Of this season.
    pub season: Option<i32>,
    /// Of this kind.
    pub kind: Option<String>,
    /// Of this visit.
    pub visit: Option<String>,
}

pub(crate) const COLUMNS: &str = "o.key, o.visit, o.kind, d.feature, d.season, d.crop, o.at, o.offset, o.by, o.device, o.lon, \
                       o.lat, o.\"values\", o.void, o.conflicts";

impl Journal {
    /// Returns the records that a filter asks for, by feature, season, time and key; void ones are in it, marked.
    ///
    /// Fields that were merged are one: asked for any of them it returns the records of all, each told of the field under
    /// which they are spoken of.
    pub fn records(&self, filter: &Filter) -> Result<Vec<Record>, JournalError> {
        let known = self.known_fields()?;
        let features = match &filter.feature {
            None => Vec::new(),
            Some(Feature::Field(id)) => {
                let members = known.united.members(id).into_iter();
                members.map(|id| Feature::Field(id.to_owned()).to_string()).collect()
            }
            Some(other) => vec![other.to_string()],
        };
        let crew = self.identity().crew;
        let mut sql = format!("select {COLUMNS} from observation o join doc d on d.id = o.doc where d.crew = ?1");
        let mut values: Vec<&dyn ToSql> = vec![&crew.0];
        if !features.is_empty() {
            let from = values.len() + 1;
            values.extend(features.iter().map(|feature| feature as &dyn ToSql));
            let places: Vec<String> = (from..=values.len()).map(|n| format!("?{n}")).collect();
            sql.push_str(&format!(" and d.feature in ({})", places.join(", ")));
        }
        if let Some(season) = &filter.season {
            values.push(season);
            sql.push_str(&format!(" and d.season = ?{}", values.len()));
        }
        if let Some(kind) = &filter.kind {
            values.push(kind);
            sql.push_str(&format!(" and o.kind = ?{}", values.len()));
            // A journal whose tables could not be brought up to date is read whole.
            if self.check_tables().is_ok() {
                sql.push_str(&format!(" and d.id in (select doc from kind where name = ?{})", values.len()));
            }
        }
        if let Some(visit) = &filter.visit {
            values.push(visit);
            sql.push_str(&format!(" and o.visit = ?{}", values.len()));
        }
        sql.push_str(" order by d.feature, d.season, o.at, o.key");
        let mut records = self.query_records(&sql, &values, &known)?;
        if !known.united.is_empty() {
            records.sort_by_cached_key(|r| (r.feature.to_string(), r.season, r.at, r.key.clone()));
        }
        Ok(records)
    }

    /// Returns the records of a document that are not void and whose time lies before `from` or behind `to`, by key.
    pub fn records_dated_outside(
        &self,
        document: DocId,
        from: Timestamp,
        to: Timestamp,
    ) -> Result<Vec<Record>, JournalError> {
        let sql = format!(
            "select {COLUMNS} from observation o join doc d on d.id = o.doc
             where d.id = ?1 and o.void is null and (o.at < ?2 or o.at > ?3) order by o.key"
        );
        let known = self.known_fields()?;
        self.query_records(&sql, &[&document.0, &from.as_millisecond(), &to.as_millisecond()], &known)
    }

    /// Returns the records that one document holds, by time and key, each told of the field under which it is spoken of.
    pub fn records_in(&self, document: DocId) -> Result<Vec<Record>, JournalError> {
        let sql = format!(
            "select {COLUMNS} from observation o join doc d on d.id = o.doc where d.id = ?1 order by o.at, o.key"
        );
        let known = self.known_fields()?;
        self.query_records(&sql, &[&document.0], &known)
    }

    /// Returns every record with the feature that its own document is about, as [`Self::records`] orders them.
    pub(crate) fn records_as_kept(&self) -> Result<Vec<Record>, JournalError> {
        let crew = self.identity().crew;
        let sql = format!(
            "select {COLUMNS} from observation o join doc d on d.id = o.doc where d.crew = ?1
             order by d.feature, d.season, o.at, o.key"
        );
        let known = self.known_fields()?.apart();
        self.query_records(&sql, &[&crew.0], &known)
    }

    /// Returns the keys of the observations that `is_one` picks by kind and values.
    ///
    /// Asked about are those of the kinds in `holding` that are not void, have no conflict, and hold all measures of at
    /// least one of the sets beside their kind: of very many others not even the values are read.
    pub fn settled_that(
        &self,
        holding: &[(&str, Vec<Vec<&str>>)],
        is_one: impl Fn(&str, &BTreeMap<String, Measured>) -> bool,
    ) -> Result<Vec<ObservationKey>, JournalError> {
        let crew = self.identity().crew;
        let mut words: Vec<String> = Vec::new();
        let mut place = |word: String| {
            words.push(word);
            format!("?{}", words.len() + 1)
        };
        let mut by_kind = String::new();
        for (kind, sets) in holding {
            let kind = place((*kind).to_owned());
            // A text that names the measure may be a value all the same: `is_one` sees to that.
            let mut has = |measure: &&str| format!("instr(o.\"values\", {}) > 0", place(format!("\"{measure}\"")));
            let sets: Vec<String> =
                sets.iter().map(|set| set.iter().map(&mut has).collect::<Vec<_>>().join(" and ")).collect();
            by_kind.push_str(&format!(" when {kind} then {}", sets.join(" or ")));
        }
        if by_kind.is_empty() {
            return Ok(Vec::new());
        }
        let sql = format!(
            "select o.key, o.kind, o.\"values\" from observation o join doc d on d.id = o.doc
             where d.crew = ?1 and o.void is null and o.conflicts = '[]' and case o.kind{by_kind} else 0 end order by o.key"
        );
        let values: Vec<&dyn ToSql> =
            std::iter::once(&crew.0 as &dyn ToSql).chain(words.iter().map(|word| word as &dyn ToSql)).collect();
        let inner = self.lock();
        let read = || -> rusqlite::Result<Vec<ObservationKey>> {
            let mut query = inner.conn.prepare(&sql)?;
            let mut rows = query.query(values.as_slice())?;
            let mut keys = Vec::new();
            while let Some(row) = rows.next()? {
                if is_one(row.get_ref(1)?.as_str()?, &values_in(row, 2)?) {
                    keys.push(row.get(0)?);
                }
            }
            Ok(keys)
        };
        read().map_err(self.sql())
    }

    /// Returns one record.
    pub fn record_by_key(&self, key: &str) -> Result<Record, JournalError> {
        let crew = self.identity().crew;
        let sql = format!(
            "select {COLUMNS} from visit v join observation o on o.doc = v.doc join doc d on d.id = o.doc
             where v.id = ?3 and d.crew = ?1 and o.key = ?2"
        );
        self.check_tables()?;
        let known = self.known_fields()?;
        self.query_records(&sql, &[&crew.0, &key, &visit_of(key)], &known)?
            .into_iter()
            .next()
            .ok_or_else(|| JournalError::UnknownObservation { key: key.into() })
    }

    pub(crate) fn query_records(
        &self,
        sql: &str,
        values: &[&dyn ToSql],
        known: &Known,
    ) -> Result<Vec<Record>, JournalError> {
        let inner = self.lock();
        inner
            .conn
            .prepare(sql)
            .and_then(|mut q| q.query_map(values, |r| known.home(read_record(r, &known.zones)?))?.collect())
            .map_err(self.sql())
    }

    /// Returns which fields are one, and the time zones of the crew's fields.
    pub(crate) fn known_fields(&self) -> Result<Arc<Known>, JournalError> {
        self.listed(|listed| Arc::clone(&listed.known))
    }

    /// Hands out the list of the crew's fields, which is read anew only where it has changed.
    fn listed<T>(&self, take: impl FnOnce(&Listed) -> T) -> Result<T, JournalError> {
        let document = self.crew_doc().id();
        let version: Option<i64> = {
            let inner = self.lock();
            let query = inner.conn.prepare_cached("select version from doc where id = ?1");
            query.and_then(|mut q| q.query_row([document.0], |r| r.get(0)).optional()).map_err(self.sql())?
        };
        let kept = || self.listed.lock().unwrap_or_else(|e| e.into_inner());
        if let Some(listed) = kept().as_ref().filter(|l| (l.document, l.version) == (document, version)) {
            return Ok(take(listed));
        }
        let mut fields: Vec<Field> = {
            let inner = self.lock();
            let query = inner.conn.prepare("select body from field");
            query.and_then(|mut q| q.query_map([], read_field)?.collect()).map_err(self.sql())?
        };
        fields.sort_by(|a, b| (&a.name, &a.id).cmp(&(&b.name, &b.id)));
        let known = Arc::new(Known::of(&fields));
        Ok(take(kept().insert(Listed { document, version, fields, known })))
    }

    /// Returns every conflict that waits for a person.
    pub fn conflicts(&self) -> Result<Vec<Conflict>, JournalError> {
        let crew = self.identity().crew;
        let inner = self.lock();
        inner
            .conn
            .prepare(
                "select c.body from conflict c join doc d on d.id = c.doc where d.crew = ?1 order by c.key, c.measure",
            )
            .and_then(|mut q| q.query_map([crew.0], |r| from_json(r, 0, "conflict"))?.collect())
            .map_err(self.sql())
    }

    /// Returns everything that was ever written to an observation, in causal order.
    pub fn history(&self, key: &str) -> Result<Vec<HistoryEntry>, JournalError> {
        let id = self.doc_of(key)?.id();
        self.with_document(id, |document| document.history(key))?.map_err(Into::into)
    }

    /// Returns what [`Self::history`] tells, for every observation of a document at once.
    pub fn histories(&self, id: DocId) -> Result<BTreeMap<ObservationKey, Vec<HistoryEntry>>, JournalError> {
        self.with_document(id, |document| document.histories())?.map_err(Into::into)
    }

    /// Returns the fields of the crew, by name; of fields that were merged the one under which they are spoken of.
    pub fn fields(&self) -> Result<Vec<Field>, JournalError> {
        self.listed(|Listed { fields, known, .. }| {
            fields.iter().filter(|field| known.united.home(&field.id) == field.id).cloned().collect()
        })
    }

    /// Returns every field of the crew, by name, those that were made part of another too.
    pub fn all_fields(&self) -> Result<Vec<Field>, JournalError> {
        self.listed(|listed| listed.fields.clone())
    }

    /// Tells which fields are one.
    pub fn united(&self) -> Result<United, JournalError> {
        self.listed(|listed| listed.known.united.clone())
    }

    /// Tells of which fields each was split off.
    pub fn wholes(&self) -> Result<Wholes, JournalError> {
        self.listed(|listed| listed.known.wholes.clone())
    }

    /// Returns the crew's growers, planters and soils, by sort and name. The crew's document is loaded for it.
    pub fn roster(&self) -> Result<Vec<Kept>, JournalError> {
        match self.with_document(self.crew_doc().id(), |document| document.roster()) {
            Err(JournalError::UnknownDocument { .. }) => Ok(Vec::new()),
            other => other,
        }
    }

    /// Returns the key of the document that holds an observation.
    pub fn doc_of(&self, key: &str) -> Result<DocKey, JournalError> {
        self.check_tables()?;
        let crew = self.identity().crew;
        let inner = self.lock();
        inner
            .conn
            .query_row(
                "select d.crew, d.feature, d.season
                 from visit v join observation o on o.doc = v.doc join doc d on d.id = o.doc
                 where v.id = ?3 and d.crew = ?1 and o.key = ?2",
                rusqlite::params![crew.0, key, visit_of(key)],
                |r| {
                    let feature: String = r.get(1)?;
                    let feature = feature.parse().map_err(|_| odd(1, "feature"))?;
                    Ok(DocKey { crew: CrewId(r.get(0)?), feature, season: r.get(2)? })
                },
            )
            .optional()
            .map_err(self.sql())?
            .ok_or_else(|| JournalError::UnknownObservation { key: key.into() })
    }

    /// Runs an act on a document as it stands; nothing that the act changes is kept.
    pub(crate) fn with_document<T>(
        &self,
        id: DocId,
        act: impl FnOnce(&mut ligule_observation::document::FieldDocument) -> T,
    ) -> Result<T, JournalError> {
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Deferred).map_err(self.sql())?;
        let row = self.row(&tx, id)?.ok_or(JournalError::UnknownDocument { id })?;
        let mut cached = self.take(&tx, cache, &row)?;
        let value = act(&mut cached.document);
        drop(tx);
        Self::put_back(cache, id, cached);
        Ok(value)
    }
}

/// The list of the crew's fields, as it was read from the table.
pub(crate) struct Listed {
    /// The crew's document, and its version then.
    document: DocId,
    version: Option<i64>,
    fields: Vec<Field>,
    known: Arc<Known>,
}

/// What has to be known of fields to tell a record.
pub(crate) struct Known {
    pub(crate) united: United,
    wholes: Wholes,
    pub(crate) zones: HashMap<Feature, TimeZone>,
}

impl Known {
    fn of(fields: &[Field]) -> Self {
        let united = United::of(fields);
        let spoken: HashMap<&str, &str> = fields.iter().map(|f| (f.id.as_str(), f.zone.as_str())).collect();
        let zone = |f: &Field| TimeZone::get(spoken.get(united.home(&f.id)).unwrap_or(&f.zone.as_str())).ok();
        let zones = fields.iter().filter_map(|f| Some((Feature::Field(f.id.clone()), zone(f)?))).collect();
        Self { wholes: Wholes::of(fields, &united), united, zones }
    }

    /// Returns the time zones of fields without their merges: each record is told of its own document's field.
    pub(crate) fn apart(&self) -> Self {
        Self { united: United::default(), wholes: Wholes::default(), zones: self.zones.clone() }
    }

    /// Tells a record of the field under which its own is spoken of.
    pub(crate) fn home(&self, mut record: Record) -> rusqlite::Result<Record> {
        if let Feature::Field(id) = &record.feature
            && self.united.home(id) != id
        {
            record.feature = Feature::Field(self.united.home(id).to_owned());
        }
        Ok(record)
    }
}

/// Returns the visit that an observation's key, or the beginning of one, names.
pub(crate) fn visit_of(key: &str) -> &str {
    key.rsplit_once('-').map_or(key, |(visit, _)| visit)
}

pub(crate) fn from_json<T: serde::de::DeserializeOwned>(r: &Row<'_>, column: usize, name: &str) -> rusqlite::Result<T> {
    let text: String = r.get(column)?;
    serde_json::from_str(&text).map_err(|_| odd(column, name))
}

/// Reads an observation's values from the text in a column.
pub(crate) fn values_in(r: &Row<'_>, column: usize) -> rusqlite::Result<BTreeMap<String, Measured>> {
    values_from_text(r.get_ref(column)?.as_str()?).ok_or_else(|| odd(column, "values"))
}

/// Reads a field from its body, the first column.
pub(crate) fn read_field(r: &Row<'_>) -> rusqlite::Result<Field> {
    from_json(r, 0, "field")
}

pub(crate) fn read_record(r: &Row<'_>, zones: &HashMap<Feature, TimeZone>) -> rusqlite::Result<Record> {
    let feature: String = r.get(3)?;
    let feature: Feature = feature.parse().map_err(|_| odd(3, "feature"))?;
    let at = Timestamp::from_millisecond(r.get(6)?).map_err(|_| odd(6, "at"))?;
    let offset_minutes = r.get(7)?;
    let place = match (r.get(10)?, r.get(11)?) {
        (Some(lon_e7), Some(lat_e7)) => Some(Place { lon_e7, lat_e7 }),
        _ => None,
    };
    let void: Option<String> = r.get(13)?;
    Ok(Record {
        key: r.get(0)?,
        visit: r.get(1)?,
        kind: r.get(2)?,
        day: day(at, zones.get(&feature), offset_minutes),
        feature,
        season: r.get(4)?,
        crop: r.get(5)?,
        at,
        offset_minutes,
        by: r.get(8)?,
        device: DeviceId(r.get(9)?),
        place,
        values: values_in(r, 12)?,
        void: void.map(|v| serde_json::from_str(&v).map_err(|_| odd(13, "void"))).transpose()?,
        conflicts: from_json(r, 14, "conflicts")?,
    })
}
