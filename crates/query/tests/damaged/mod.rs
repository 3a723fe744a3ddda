//! A table of which something is damaged never answers short: it names the file and how to go on, and the other tables
//! answer as before.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ligule_archive::{Archive, FarmUnit};
use ligule_query::{QueryError, Session, SessionOptions};

use crate::common::{at, farm, kinds, quiet, unit};
use crate::{Journal, cells};

/// What needs the table `stand_count` and so must be refused when that is damaged.
const OF_STANDS: [&str; 6] = [
    "SELECT season, count(*) FROM stand_count GROUP BY season ORDER BY season",
    "SELECT count(*) FROM stand_count",
    "SELECT count(*) FROM stand_count WHERE season = 2026",
    "SELECT max(plants) FROM stand_count_all",
    "SELECT kind, sum(value) FROM long GROUP BY kind ORDER BY kind",
    "SELECT field FROM field WHERE field IN (SELECT field FROM stand_count) ORDER BY field, season",
];

/// What does not need it.
const OF_OTHERS: [&str; 5] = [
    "SELECT season, count(*), sum(set_depth_in) FROM seed_depth GROUP BY season ORDER BY season",
    "SELECT season, count(*), sum(value) FROM seed_depth__seed_to_surface GROUP BY season ORDER BY season",
    "SELECT kind, count(*) FROM other GROUP BY kind ORDER BY kind",
    "SELECT field, season, heads FROM field ORDER BY field, season",
    "SELECT kind, sum(value) FROM long WHERE kind = 'seed-depth' GROUP BY kind",
];

struct Place {
    folder: tempfile::TempDir,
    archive: Archive,
}

impl Place {
    /// Two fields over two seasons.
    async fn new() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let archive = Archive::create(folder.path().to_str().expect("a path in UTF-8")).expect("an archive");
        let units = farm(2, 2025..=2026, 3);
        archive.compact(&units, &kinds(), at("2026-06-01T12:00:00Z"), &quiet).await.expect("a compaction");
        Self { folder, archive }
    }

    fn path(&self, within: &str) -> PathBuf {
        self.folder.path().join(within)
    }

    /// The one file of a table in a season.
    fn file(&self, table: &str, season: i32) -> String {
        let folder = format!("{table}/season={season}");
        let mut names: Vec<String> = std::fs::read_dir(self.path(&folder))
            .expect("the season")
            .map(|entry| entry.expect("an entry").file_name().into_string().expect("a name in UTF-8"))
            .collect();
        assert_eq!(names.len(), 1);
        format!("{folder}/{}", names.remove(0))
    }

    /// A session over the archive alone, or with a journal that holds one of its documents anew and one more.
    async fn session(&self, with_journal: bool) -> Result<Session, QueryError> {
        let journal = Journal(vec![unit("F00", 2026, 5, "h2"), unit("F01", 2026, 3, "h1"), unit("F07", 2026, 2, "h1")]);
        let options = SessionOptions { archive: Some(self.archive.clone()), kinds: kinds(), ..Default::default() };
        let live = with_journal.then(|| Arc::new(journal) as Arc<dyn ligule_query::LiveRows>);
        Session::new(SessionOptions { live, ..options }).await
    }
}

async fn answers(session: &Session, queries: &[&str]) -> Vec<Vec<Vec<String>>> {
    let mut all = Vec::new();
    for query in queries {
        let answer = session.sql(query).await.unwrap_or_else(|e| panic!("{query}: {e}"));
        assert!(answer.rows() > 0, "{query}");
        all.push(cells(&answer));
    }
    all
}

#[track_caller]
fn names_damage(error: &QueryError, path: &str) {
    assert!(error.is_damage() && !error.closed_pipe(), "{error}");
    let said = error.to_string();
    for part in [path, "still readable: ", "`ligule archive verify`", "`ligule compact --repair`"] {
        assert!(said.contains(part), "`{part}` in {said}");
    }
}

fn overwrite(path: &Path, with: impl Fn(u8) -> u8) {
    let bytes = std::fs::read(path).expect("the file");
    std::fs::write(path, bytes.into_iter().map(with).collect::<Vec<_>>()).expect("overwritten");
}

fn cut(path: &Path) {
    let bytes = std::fs::read(path).expect("the file");
    std::fs::write(path, &bytes[..bytes.len() / 2]).expect("cut");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_damaged_table_is_refused_and_the_others_answer_as_before() {
    for (harm, with_journal) in [
        ("file gone", false),
        ("file gone", true),
        ("file cut", false),
        ("file overwritten", true),
        ("log gone", true),
        ("log overwritten", false),
        ("table gone", true),
    ] {
        println!("{harm}, journal: {with_journal}");
        let place = Place::new().await;
        let whole = place.session(with_journal).await.expect("a session");
        let (stands, others) = (answers(&whole, &OF_STANDS).await, answers(&whole, &OF_OTHERS).await);
        let file = place.file("stand_count", 2025);
        let (path, log) = (place.path(&file), place.path("stand_count/_delta_log"));
        match harm {
            "file gone" => std::fs::remove_file(&path).expect("removed"),
            "file cut" => cut(&path),
            "file overwritten" => overwrite(&path, |_| 0xa7),
            "log gone" => std::fs::remove_dir_all(&log).expect("removed"),
            "log overwritten" => overwrite(&log.join("00000000000000000000.json"), |_| 0xa7),
            _ => std::fs::remove_dir_all(place.path("stand_count")).expect("removed"),
        }
        let named = if harm.starts_with("file") { file.as_str() } else { "stand_count/_delta_log" };
        let session = place.session(with_journal).await.expect("a session");
        for query in OF_STANDS {
            // Pruned to the whole season, the answer needs no other file; but presence and size are looked at for all.
            match session.sql(query).await {
                Err(error) => names_damage(&error, named),
                Ok(answer) => {
                    assert!(harm == "file overwritten" && query.contains("season = 2026"), "{query}");
                    assert_eq!(cells(&answer), stands[2], "{query}");
                }
            }
        }
        assert_eq!(answers(&session, &OF_OTHERS).await, others);
        assert!(session.describe("stand_count").is_ok_and(|table| !table.columns.is_empty()));

        let units = farm(2, 2025..=2026, 3);
        let noon = at("2026-06-01T12:00:00Z");
        place.archive.repair(&units, &kinds(), noon, &quiet).await.expect("repaired");
        let repaired = place.session(with_journal).await.expect("a session");
        assert_eq!(answers(&repaired, &OF_STANDS).await, stands);
        assert_eq!(answers(&repaired, &OF_OTHERS).await, others);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_goes_while_a_session_is_open_is_missed() {
    let place = Place::new().await;
    let session = place.session(false).await.expect("a session");
    answers(&session, &OF_STANDS).await;
    let file = place.file("stand_count", 2025);
    std::fs::remove_file(place.path(&file)).expect("removed");
    for query in OF_STANDS {
        names_damage(&session.sql(query).await.expect_err(query), &file);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn when_the_list_of_documents_is_damaged_the_other_tables_still_take_each_document_once() {
    for harm in ["file gone", "file overwritten", "log gone"] {
        for with_journal in [false, true] {
            let place = Place::new().await;
            let whole = place.session(with_journal).await.expect("a session");
            let queries = [&OF_STANDS[..5], &OF_OTHERS[..3]].concat();
            let before = answers(&whole, &queries).await;
            let file = place.file("field", 2026);
            match harm {
                "file gone" => std::fs::remove_file(place.path(&file)).expect("removed"),
                "file overwritten" => overwrite(&place.path(&file), |_| 0xa7),
                _ => std::fs::remove_dir_all(place.path("field/_delta_log")).expect("removed"),
            }
            let session = place.session(with_journal).await.expect("a session");
            assert_eq!(answers(&session, &queries).await, before, "{harm}, journal: {with_journal}");
            let named = if harm == "log gone" { "field/_delta_log" } else { file.as_str() };
            names_damage(&session.sql("SELECT count(*) FROM field").await.expect_err("damaged"), named);
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_whole_snapshot_there_is_no_session() {
    for harm in ["gone", "log overwritten"] {
        let place = Place::new().await;
        match harm {
            "gone" => std::fs::remove_dir_all(place.path("snapshot")).expect("removed"),
            _ => overwrite(&place.path("snapshot/_delta_log/00000000000000000001.json"), |_| 0xa7),
        }
        let error = place.session(true).await.err().expect("damaged");
        names_damage(&error, "snapshot/_delta_log");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_damaged_log_of_a_table_that_no_kind_declares_is_named() {
    let place = Place::new().await;
    std::fs::remove_dir_all(place.path("stand_count/_delta_log")).expect("removed");
    let options = SessionOptions { archive: Some(place.archive.clone()), ..SessionOptions::default() };
    let session = Session::new(options).await.expect("a session");
    for query in ["SELECT plants FROM stand_count", "SELECT count(*) FROM stand_count", "SELECT * FROM stand_count"] {
        names_damage(&session.sql(query).await.expect_err(query), "stand_count/_delta_log");
    }
    let error = session.sql("SELECT plants FROM stand_cuont").await.expect_err("no such table");
    assert!(!error.is_damage(), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_query_is_not_taken_for_damage() {
    let place = Place::new().await;
    // Damage that no look at sizes finds, in a table that the queries do not need.
    overwrite(&place.path(&place.file("seed_depth", 2025)), |_| 0xa7);
    let session = place.session(false).await.expect("a session");
    for query in ["SELECT plant FROM stand_count", "SELECT 1 / 0", "SELECT CAST('even' AS INT)", "SELEC 1"] {
        let error = session.sql(query).await.expect_err(query);
        assert!(!error.is_damage(), "{query}: {error}");
    }
}

/// A device that holds less of a document than the archive is no reason to answer short.
#[tokio::test(flavor = "multi_thread")]
async fn what_a_file_holds_beside_a_damaged_one_is_not_taken_from_a_journal_that_is_behind() {
    let place = Place::new().await;
    std::fs::remove_file(place.path(&place.file("field", 2026))).expect("removed");
    struct Behind;
    impl ligule_query::LiveRows for Behind {
        fn newer_than(
            &self,
            archived: &std::collections::BTreeMap<ligule_archive::ids::DocId, ligule_archive::UnitState>,
        ) -> Result<Vec<FarmUnit>, ligule_query::LiveError> {
            // Its only document is at `h0`, which the archived heads contain.
            let mine = unit("F00", 2026, 1, "h0");
            assert_eq!(archived[&mine.doc].heads, "h1");
            Ok(Vec::new())
        }
    }
    let options = SessionOptions { archive: Some(place.archive.clone()), kinds: kinds(), ..Default::default() };
    let session = Session::new(SessionOptions { live: Some(Arc::new(Behind)), ..options }).await.expect("a session");
    let counted = session.sql("SELECT count(*) FROM stand_count_all").await.expect("an answer");
    assert_eq!(cells(&counted), [["12"]]);
}

/// A query need not notice every altered byte, as its own doc says: `verify` does. It never panics and never loses rows.
#[tokio::test(flavor = "multi_thread")]
async fn altered_bytes_anywhere_in_a_file_are_named_and_no_row_goes_missing() {
    let place = Place::new().await;
    let query = "SELECT * FROM stand_count_all ORDER BY observation";
    let before = answers(&place.session(false).await.expect("a session"), &[query]).await.remove(0);
    let file = place.file("stand_count", 2025);
    let whole = std::fs::read(place.path(&file)).expect("the file");
    let (mut told, mut unharmed, mut unnoticed) = (0, 0, 0);
    for at in (0..whole.len()).step_by(whole.len() / 80) {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x55;
        std::fs::write(place.path(&file), bytes).expect("altered");
        match place.session(false).await.expect("a session").sql(query).await {
            Err(error) => {
                names_damage(&error, &file);
                told += 1;
            }
            Ok(answer) if cells(&answer) == before => unharmed += 1,
            Ok(answer) => {
                assert_eq!(answer.rows(), before.len(), "byte {at}");
                unnoticed += 1;
            }
        }
        let damage = place.archive.verify().await.expect("a report").damage;
        assert_eq!(damage.iter().map(ligule_archive::Damage::path).collect::<Vec<_>>(), [file.as_str()], "byte {at}");
    }
    println!("{told} told, {unharmed} without effect, {unnoticed} unnoticed");
    assert!(told > unharmed && told > 10 * unnoticed, "{told} told, {unharmed} unharmed, {unnoticed} unnoticed");
}
