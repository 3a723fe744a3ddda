//! Bringing the tables of a journal that an earlier program started up to what this one writes.

use ligule_observation::ids::DocId;
use rusqlite::{Connection, Transaction, TransactionBehavior, params};

use crate::{seen, write::json};

/// The schema that this program writes.
pub(crate) const SCHEMA: i64 = 3;

/// From schema 1 to 2: every index costs a record a page of the log. A document's row tells what was seen last of each
/// kind, a visit in which document it is, and an actor's sequence number is read from the version vector. The first
/// journals had other indexes than later ones.
const FROM_1: &str = "
    alter table doc add column seen text not null default '';
    alter table actor drop column seq;
    drop index if exists observation_kind_at;
    drop index if exists observation_at;
    drop index if exists observation_key;
    create table visit (id text not null, doc blob not null, primary key (id, doc)) without rowid;
    insert into visit (id, doc) select distinct visit, doc from observation";

/// From schema 2 to 3: the last two pages that a record wrote for an index alone. A table tells which documents hold a
/// kind, and chunks lie in the order of their key.
const FROM_2: &str = "
    drop index if exists observation_kind;
    create table kind (name text not null, doc blob not null, primary key (name, doc)) without rowid;
    insert into kind (name, doc) select distinct kind, doc from observation;
    alter table chunk rename to chunk_2;
    create table chunk (doc blob not null, n integer not null, bytes blob not null, primary key (doc, n)) without rowid;
    insert into chunk (doc, n, bytes) select doc, n, bytes from chunk_2 order by doc, n;
    drop table chunk_2";

/// Brings the tables up to [`SCHEMA`] in one transaction; another process may have been quicker.
pub(crate) fn upgrade(conn: &Connection) -> rusqlite::Result<()> {
    let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
    let found: i64 = tx.query_row("select value from meta where name = 'schema'", [], |r| r.get(0))?;
    if found >= SCHEMA {
        return Ok(());
    }
    if found < 2 {
        tx.execute_batch(FROM_1)?;
        let documents: Vec<DocId> = tx
            .prepare("select id from doc")?
            .query_map([], |r| r.get(0).map(DocId))?
            .collect::<rusqlite::Result<_>>()?;
        for id in documents {
            let told = json(&seen::find(&tx, id)?);
            tx.execute("update doc set seen = ?2 where id = ?1", params![id.0, told])?;
        }
    }
    tx.execute_batch(FROM_2)?;
    tx.execute("update meta set value = ?1 where name = 'schema'", [SCHEMA])?;
    tx.commit()
}
