//! Queries over an archive and a journal together, wrong ones included; one test binary, because linking is slow.

#[path = "../../archive/tests/common/mod.rs"]
#[allow(dead_code, reason = "each test program uses a part of it")]
mod common;
mod damaged;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use common::{at, farm, kinds, quiet, unit};
use ligule_archive::ids::DocId;
use ligule_archive::kind::Kind;
use ligule_archive::{Archive, FarmUnit, UnitState};
use ligule_query::output::{self, Format};
use ligule_query::{Answer, LiveError, LiveRows, QueryError, Session, SessionOptions};
use sqllogictest::{DBOutput, DefaultColumnType, Runner};

/// A journal that holds these units and nothing else.
struct Journal(Vec<FarmUnit>);

impl LiveRows for Journal {
    fn newer_than(&self, archived: &BTreeMap<DocId, UnitState>) -> Result<Vec<FarmUnit>, LiveError> {
        let newer = |unit: &&FarmUnit| archived.get(&unit.doc).is_none_or(|old| old.heads != unit.heads);
        Ok(self.0.iter().filter(newer).cloned().collect())
    }
}

/// Two fields over two seasons in the archive; one of them has more in the journal, and one field is only there.
async fn session() -> Session {
    let archive = Archive::create("memory:///seasons/north").expect("an archive");
    archive
        .compact(&farm(2, 2025..=2026, 3), &kinds(), at("2026-06-01T12:00:00Z"), &quiet)
        .await
        .expect("a compaction");
    let journal = Journal(vec![unit("F00", 2026, 5, "h2"), unit("F01", 2026, 3, "h1"), unit("F07", 2026, 2, "h1")]);
    let options =
        SessionOptions { archive: Some(archive), live: Some(Arc::new(journal)), kinds: kinds(), memory_limit: None };
    Session::new(options).await.expect("a session")
}

struct Database(Session);

#[async_trait::async_trait]
impl sqllogictest::AsyncDB for Database {
    type Error = QueryError;
    type ColumnType = DefaultColumnType;

    async fn run(&mut self, sql: &str) -> Result<DBOutput<DefaultColumnType>, QueryError> {
        let answer = self.0.sql(sql).await?;
        let rows = cells(&answer);
        Ok(DBOutput::Rows { types: vec![DefaultColumnType::Any; answer.schema.fields().len()], rows })
    }

    async fn shutdown(&mut self) {}
}

fn cells(answer: &Answer) -> Vec<Vec<String>> {
    use ligule_query::arrow::util::display::{ArrayFormatter, FormatOptions};
    let options = FormatOptions::default().with_null("NULL");
    let mut rows = Vec::new();
    for batch in &answer.batches {
        let columns: Vec<_> = batch
            .columns()
            .iter()
            .map(|column| ArrayFormatter::try_new(column, &options).expect("a formatter"))
            .collect();
        for row in 0..batch.num_rows() {
            rows.push(columns.iter().map(|column| column.value(row).to_string()).collect());
        }
    }
    rows
}

#[tokio::test(flavor = "multi_thread")]
async fn scripts() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/slt");
    let mut ran = 0;
    for entry in std::fs::read_dir(folder).expect("the scripts") {
        let path = entry.expect("a script").path();
        let mut runner = Runner::new(|| async { Ok(Database(session().await)) });
        runner.run_file_async(&path).await.unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        ran += 1;
    }
    assert_eq!(ran, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn archived_and_live_rows_answer_alike() {
    let units = farm(2, 2025..=2026, 4);
    let archive = Archive::create("memory:///farm").expect("an archive");
    archive.compact(&units, &kinds(), at("2026-06-01T12:00:00Z"), &quiet).await.expect("a compaction");
    let archived = SessionOptions { archive: Some(archive), kinds: kinds(), ..SessionOptions::default() };
    let live = SessionOptions { live: Some(Arc::new(Journal(units))), kinds: kinds(), ..SessionOptions::default() };
    let (archived, live) =
        (Session::new(archived).await.expect("a session"), Session::new(live).await.expect("a session"));
    assert_eq!((archived.snapshot(), live.snapshot()), (Some(1), None));
    for table in ["stand_count_all", "seed_depth", "seed_depth__seed_to_surface_all", "other", "field", "long"] {
        let query = format!("SELECT * FROM {table} ORDER BY 1, 2, 3, 4, 5, 6, 7, 8, 9, 10");
        let (a, b) = (answer(&archived, &query).await, answer(&live, &query).await);
        assert!(!a.is_empty(), "{table}");
        assert_eq!(a, b, "{table}");
    }
}

async fn answer(session: &Session, query: &str) -> Vec<Vec<String>> {
    // Tables are narrower than ten columns at times.
    match session.sql(query).await {
        Ok(answer) => cells(&answer),
        Err(_) => cells(&session.sql(query.split(", 9").next().expect("a query")).await.expect("an answer")),
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn wrong_queries_are_answered_with_the_right_names() {
    let session = session().await;
    let error = session.sql("SELECT * FROM stand_cuont").await.expect_err("no such table");
    assert!(matches!(&error, QueryError::UnknownTable { nearest: Some(n), .. } if n == "stand_count"), "{error}");
    let error = session.sql("SELECT plant FROM stand_count").await.expect_err("no such column");
    assert!(matches!(&error, QueryError::UnknownColumn { nearest: Some(n), .. } if n == "plants"), "{error}");
    let error = session.sql("SELEC 1").await.expect_err("no SQL");
    assert!(matches!(&error, QueryError::Syntax { .. }), "{error}");
    for write in [
        "CREATE TABLE x AS SELECT 1",
        "DROP TABLE stand_count",
        "INSERT INTO stand_count SELECT * FROM stand_count",
        "COPY (SELECT 1 AS a) TO '/tmp/out.csv'",
        "CREATE EXTERNAL TABLE x STORED AS CSV LOCATION '/etc/passwd'",
        "SET datafusion.execution.batch_size = 1",
        "DELETE FROM stand_count",
    ] {
        let error = session.sql(write).await.expect_err(write);
        assert!(matches!(&error, QueryError::ReadOnly { .. }), "{write}: {error}");
        assert!(error.to_string().ends_with("redirect the output: `--format csv … > answer.csv`"), "{error}");
    }
    for (query, words) in [
        ("SELECT 1; SELECT 2", "this is not one SQL query: it holds several statements; ask them one at a time"),
        (" ", "this is not one SQL query: it is empty; write a SELECT"),
        (
            "SELECT plants_per_acre(plants, day, 17) FROM stand_count",
            "`plants_per_acre` does not take (number, day, number); it takes three numbers: plants, inches between rows, feet of row",
        ),
        (
            "SELECT plants_per_acre(plants) FROM stand_count",
            "`plants_per_acre` does not take (number); it takes three numbers: plants, inches between rows, feet of row",
        ),
        (
            "SELECT t_half_width(day) FROM stand_count",
            "`t_half_width` does not take (day); it takes one column of numbers",
        ),
    ] {
        assert_eq!(session.sql(query).await.expect_err(query).to_string(), words);
    }
    for query in [
        "SELECT round('even', 1)",
        "SELECT sum(vigour) FROM stand_count",
        "SELECT upper(1, 2)",
        "SELECT plants > day FROM stand_count",
    ] {
        let said = session.sql(query).await.expect_err(query).to_string();
        println!("{query}: {said}");
        assert!(said.len() < 200 && !said.contains('\n'), "{query}: {said}");
        for inside in ["coerc", "infer", "Utf8", "Int64", "Float64", "TypeSignature", "context"] {
            assert!(!said.contains(inside), "{query}: {said}");
        }
    }
    let error = session.sql("SELECT plants_per_acr(1, 2, 3)").await.expect_err("no such function");
    assert!(error.to_string().contains("plants_per_acre"), "{error}");
    let error = session.describe("feild").expect_err("no such table");
    assert!(error.to_string().contains("did you mean `field`?"), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn tables_are_described_with_units_and_meanings() {
    let session = session().await;
    let names: Vec<&str> = session.tables().map(|table| table.name.as_str()).collect();
    for name in ["field", "long", "other", "other_all", "seed_depth", "seed_depth__seed_to_surface", "stand_count_all"]
    {
        assert!(names.contains(&name), "{names:?} lacks {name}");
    }
    let table = session.describe("stand_count").expect("the table");
    let column = table.columns.iter().find(|column| column.name == "row_width_in").expect("the column");
    assert_eq!((column.unit.as_deref(), column.meaning.as_str()), (Some("[in_i]"), "What `row_width` is."));
    for table in session.tables() {
        let answer = session.sql(&format!("SELECT * FROM {}", table.name)).await.expect("an answer");
        let has: Vec<&String> = answer.schema.fields().iter().map(|field| field.name()).collect();
        let described: Vec<&String> = table.columns.iter().map(|column| &column.name).collect();
        assert_eq!(has, described, "{}", table.name);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn answers_are_written_in_every_format() {
    let session = session().await;
    let answer = session
        .sql("SELECT 1 AS one, NULL::text AS nothing UNION ALL SELECT 2, 'a,b' ORDER BY 1")
        .await
        .expect("an answer");
    let written = |format| {
        let mut bytes = Vec::new();
        output::write(&answer, format, &mut bytes).expect("written");
        bytes
    };
    let text = |format| String::from_utf8(written(format)).expect("UTF-8");
    assert_eq!(text(Format::Csv), "one,nothing\n1,\n2,\"a,b\"\n");
    assert_eq!(text(Format::Json), "[{\"one\":1,\"nothing\":null},{\"one\":2,\"nothing\":\"a,b\"}]\n");
    assert_eq!(text(Format::NdJson), "{\"one\":1,\"nothing\":null}\n{\"one\":2,\"nothing\":\"a,b\"}\n");
    assert_eq!(
        text(Format::Table),
        "+-----+---------+\n| one | nothing |\n+-----+---------+\n| 1   |         |\n| 2   | a,b     |\n+-----+---------+\n"
    );
    assert!(written(Format::Parquet).starts_with(b"PAR1"));
    let stream = written(Format::Arrow);
    let read = ligule_query::arrow::ipc::reader::StreamReader::try_new(stream.as_slice(), None).expect("a stream");
    assert_eq!(read.map(|batch| batch.expect("a batch").num_rows()).sum::<usize>(), 2);
    let none = session.sql("SELECT field FROM field WHERE season = 1900").await.expect("an answer");
    let mut bytes = Vec::new();
    output::write(&none, Format::Csv, &mut bytes).expect("written");
    assert_eq!(bytes, b"field\n");
    assert!("yaml".parse::<Format>().is_err());
}

/// A pipe whose reader takes so many bytes and goes.
struct Pipe(usize);

impl std::io::Write for Pipe {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let taken = bytes.len().min(self.0);
        self.0 -= taken;
        if taken == 0 && !bytes.is_empty() { Err(std::io::ErrorKind::BrokenPipe.into()) } else { Ok(taken) }
    }

    fn flush(&mut self) -> std::io::Result<()> {
        if self.0 == 0 { Err(std::io::ErrorKind::BrokenPipe.into()) } else { Ok(()) }
    }
}

/// A disk that is full.
struct Full;

impl std::io::Write for Full {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(std::io::ErrorKind::StorageFull.into())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reader_that_goes_away_is_told_from_a_disk_that_is_full_in_every_format() {
    let session = session().await;
    let answer = session.sql("SELECT * FROM stand_count").await.expect("an answer");
    for format in Format::ALL {
        for bytes in [0, 1, 300] {
            let error = output::write(&answer, format, Pipe(bytes)).expect_err("closed");
            assert!(error.closed_pipe() && !error.is_damage(), "{format:?} after {bytes} bytes: {error}");
        }
        let error = output::write(&answer, format, std::io::BufWriter::new(Pipe(10))).expect_err("closed");
        assert!(error.closed_pipe(), "{format:?}, buffered: {error}");
        let error = output::write(&answer, format, Full).expect_err("full");
        assert!(!error.closed_pipe(), "{format:?}: {error}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_kinds_of_this_program_make_tables_that_agree() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/kinds");
    let mut kinds: Vec<Kind> = Vec::new();
    for entry in std::fs::read_dir(folder).expect("the kinds") {
        let path = entry.expect("a file").path();
        if path.extension().is_some_and(|end| end == "toml") {
            kinds.push(toml::from_str(&std::fs::read_to_string(&path).expect("a text")).expect("a kind"));
        }
    }
    assert!(kinds.len() >= 10);
    let session = Session::new(SessionOptions { kinds, ..SessionOptions::default() }).await.expect("a session");
    for table in session.tables() {
        let answer = session.sql(&format!("SELECT * FROM {}", table.name)).await.expect("an answer");
        assert_eq!(answer.schema.fields().len(), table.columns.len(), "{}", table.name);
    }
    let answer = session.sql("SELECT planting_day, row_width_in FROM planting").await.expect("an answer");
    assert_eq!(answer.rows(), 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_session_sees_one_snapshot_and_the_next_session_the_next() {
    let folder = std::env::temp_dir().join(format!("ligule-query-{}", std::process::id()));
    let archive = Archive::create(folder.to_str().expect("a path in UTF-8")).expect("an archive");
    archive
        .compact(&farm(1, 2026..=2026, 3), &kinds(), at("2026-06-01T12:00:00Z"), &quiet)
        .await
        .expect("a compaction");
    let options = SessionOptions { archive: Some(archive.clone()), kinds: kinds(), ..SessionOptions::default() };
    let early = Session::new(options.clone()).await.expect("a session");
    let query = "SELECT count(*) FROM stand_count";
    assert_eq!(cells(&early.sql(query).await.expect("an answer")), [["3"]]);
    archive
        .compact(&[unit("F00", 2026, 7, "h2")], &kinds(), at("2026-06-02T12:00:00Z"), &quiet)
        .await
        .expect("a compaction");
    assert_eq!(cells(&early.sql(query).await.expect("an answer")), [["3"]]);
    let late = Session::new(options).await.expect("a session");
    assert_eq!(cells(&late.sql(query).await.expect("an answer")), [["7"]]);
    std::fs::remove_dir_all(folder).expect("removed");
}
