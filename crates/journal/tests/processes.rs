//! Several processes share a journal, or are killed while they write: nothing that was acknowledged is lost.
//!
//! This test program starts itself as its child processes, so it has a `main` of its own. `--list` and a name as
//! filter work as with any other test program.

mod common;

use std::{
    io::{BufRead, BufReader, Write},
    path::Path,
    process::{Child, ChildStdout, Command, Stdio},
    time::{Duration, Instant},
};

use common::{at, count, doc, start, visit};
use ligule_journal::{Batch, Filter, Journal};

fn main() {
    let arguments: Vec<_> = std::env::args().skip(1).collect();
    if let [command, folder, who, number] = &arguments[..]
        && command == "child"
    {
        return record(Path::new(folder), who, number.parse().expect("a number"));
    }
    let tests: [(&str, fn()); 5] = [
        ("two_processes_that_record_into_one_document_lose_nothing", two_processes),
        ("two_processes_of_different_people_lose_nothing", two_people),
        ("nobody_waits_longer_than_a_second", patience),
        ("nobody_waits_for_a_rebuild_of_many_observations", rebuilt_amid),
        ("a_killed_process_loses_nothing_that_it_was_told_is_kept", killed),
    ];
    let list = arguments.iter().any(|a| a == "--list");
    let filter = arguments.iter().find(|a| !a.starts_with('-'));
    for (name, test) in tests {
        if filter.is_some_and(|f| !name.contains(f.as_str())) {
            continue;
        }
        if list {
            println!("{name}: test");
            continue;
        }
        let start = Instant::now();
        test();
        println!("test {name} ... ok ({:.1} s)", start.elapsed().as_secs_f64());
    }
}

/// The child: records observations one by one and prints each key once it is kept.
fn record(folder: &Path, who: &str, number: i64) {
    let journal = Journal::open(folder).expect("opens");
    let v = visit(who.split('/').next().expect("a name"), who.len() as u64);
    let mut out = std::io::stdout().lock();
    let mut longest = Duration::ZERO;
    for n in 0..number {
        let started = Instant::now();
        let keys = journal.record(&doc(), Some("corn"), &[count(&v, n)], at(n)).expect("records");
        longest = longest.max(started.elapsed());
        writeln!(out, "{}", keys[0]).expect("prints");
        out.flush().expect("prints");
    }
    writeln!(out, "longest {}", longest.as_millis()).expect("prints");
}

/// How long a write may take while others write, waiting included.
const PATIENCE: Duration = Duration::from_secs(1);

/// Several people record in a loop, one takes in what other devices send, one condenses, rebuilds and copies: whoever
/// records is through within a second, every time.
fn patience() {
    let folder = tempfile::tempdir().expect("a folder");
    let there = start(&folder.path().join("there"), 9);
    let here = folder.path().join("j");
    drop(start(&here, 1));
    let mut children: Vec<_> = (1..=3).map(|n| child(&here, &format!("person {n}/{}", "x".repeat(n)), 200)).collect();
    let told: Vec<_> = (children.iter_mut())
        .map(|c| {
            let out = c.stdout.take().expect("piped");
            std::thread::spawn(move || BufReader::new(out).lines().map_while(Result::ok).collect::<Vec<_>>())
        })
        .collect();
    let mut longest = Duration::ZERO;
    let (mut brought, mut rounds) = (0, 0);
    while children.iter_mut().any(|c| c.try_wait().expect("waits").is_none()) {
        // Forty observations a change, as a visit has them.
        let v = visit("person 9", rounds);
        let batch: Vec<_> = (0..40).map(|n| count(&v, n)).collect();
        there.record(&doc(), None, &batch, at(rounds as i64)).expect("records");
        brought += batch.len();
        let journal = Journal::open(&here).expect("opens");
        let started = Instant::now();
        common::bring(&there, &journal);
        longest = longest.max(started.elapsed());
        match rounds % 4 {
            0 => drop(journal.snapshot(true).expect("snapshots")),
            1 => drop(journal.rebuild().expect("rebuilds")),
            2 => journal.copy_into(&folder.path().join(format!("copy-{rounds}"))).expect("copies"),
            _ => assert_eq!(journal.verify().expect("reads").findings, []),
        }
        rounds += 1;
    }
    let mut keys = Vec::new();
    for line in told.into_iter().flat_map(|t| t.join().expect("reads")) {
        match line.strip_prefix("longest ") {
            Some(milliseconds) => longest = longest.max(Duration::from_millis(milliseconds.parse().expect("a number"))),
            None => keys.push(line),
        }
    }
    println!("{} recorded, {brought} brought in {rounds} rounds, the longest wait {longest:?}", keys.len());
    let journal = Journal::open(&here).expect("opens");
    common::bring(&there, &journal);
    let kept: std::collections::BTreeSet<_> =
        journal.records(&Filter::default()).expect("reads").into_iter().map(|r| r.key).collect();
    assert!(keys.iter().all(|key| kept.contains(key)), "each key that was told is kept");
    assert_eq!(kept.len(), 600 + brought);
    assert_eq!(journal.verify().expect("reads").findings, []);
    assert!(longest < PATIENCE, "somebody waited {longest:?}");
}

/// A document of many observations is rebuilt, takes in what another device recorded, and is condensed, while another process
/// records into it: nobody waits for long, and the lists are what the document says.
fn rebuilt_amid() {
    let number = std::env::var("OBSERVATIONS").map_or(12_000, |n| n.parse().expect("a number"));
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path().join("j");
    let journal = start(&here, 1);
    let new = (0..number).map(|n| count(&visit("person 9", n / 40), n as i64)).collect();
    let batch = Batch { document: doc(), crop: Some("corn".into()), new };
    journal.record_large(&[batch], at(0), &|_| {}).expect("records");
    // What the lists must not go on to tell: an observation that is not in the document, another's value, a conflict.
    let database = rusqlite::Connection::open(here.join("journal.sqlite")).expect("opens");
    let spoilt = [
        "update observation set \"values\" = '{}' where key like '%-07'",
        "insert into observation select doc, key || '9', visit, kind, at + 1e10, offset, by, device, lon, lat, \"values\", void,
         conflicts from observation where key like '%-39'",
        "insert into observation select doc, 'A', visit, kind, at, offset, by, device, lon, lat, \"values\", void, conflicts
         from observation limit 1",
        "insert into conflict select doc, key, 'plants', '{}' from observation where key like '%-11'",
    ];
    for sql in spoilt {
        assert!(database.execute(sql, []).expect("writes") > 0, "{sql}");
    }
    drop(database);
    let mut writer = child(&here, "person 1", i64::MAX);
    let out = BufReader::new(writer.stdout.take().expect("piped"));
    let mut lines = out.lines().map_while(Result::ok);
    lines.next().expect("a first key");
    let reading = std::thread::spawn(move || {
        let (mut longest, mut last, mut number) = (Duration::ZERO, Instant::now(), 0);
        for _ in lines {
            longest = longest.max(last.elapsed());
            last = Instant::now();
            number += 1;
        }
        (longest, number)
    });
    let started = Instant::now();
    let report = journal.rebuild().expect("rebuilds");
    let rebuilt = started.elapsed();
    let there = start(&folder.path().join("there"), 9);
    for n in 0..2 {
        there.record(&doc(), None, &[count(&visit("person 8", 7), n)], at(n)).expect("records");
        assert_eq!(common::bring(&there, &journal), 1);
    }
    journal.snapshot(true).expect("snapshots");
    let all = started.elapsed();
    writer.kill().expect("kills");
    writer.wait().expect("waits");
    let (longest, during) = reading.join().expect("reads");
    println!(
        "{number} rebuilt in {rebuilt:?}, more taken in and condensed at {all:?}; {during} recorded meanwhile, at most {longest:?} apart"
    );
    assert!(report.observations as u64 >= number);
    assert!(during > 2, "somebody recorded meanwhile: {during}");
    assert_eq!(journal.verify().expect("reads").findings, []);
    assert!(longest < PATIENCE, "somebody waited {longest:?}");
}

fn child(folder: &Path, who: &str, number: i64) -> Child {
    Command::new(std::env::current_exe().expect("this program"))
        .args(["child".as_ref(), folder.as_os_str(), who.as_ref(), number.to_string().as_ref()])
        .stdout(Stdio::piped())
        .spawn()
        .expect("starts")
}

/// The keys that a child told; its last line tells how long it waited.
fn keys(child: &mut Child) -> Vec<String> {
    key_lines(child.stdout.take().expect("piped"))
}

fn key_lines(out: ChildStdout) -> Vec<String> {
    BufReader::new(out).lines().map_while(Result::ok).filter(|l| l.len() > 26).collect()
}

fn run_two(first: &str, second: &str, actors: usize) {
    const EACH: i64 = 1000;
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(&folder.path().join("j"), 1);
    let folder = folder.path().join("j");
    let mut children = [child(&folder, first, EACH), child(&folder, second, EACH)];
    let mut readers = Vec::new();
    for c in &mut children {
        let out = c.stdout.take().expect("piped");
        readers.push(std::thread::spawn(move || key_lines(out)));
    }
    // A third process looks on meanwhile.
    let mut seen = 0;
    while children.iter_mut().any(|c| c.try_wait().expect("waits").is_none()) {
        let now = journal.records(&Filter::default()).expect("reads").len();
        assert!(now >= seen, "{now} after {seen}");
        seen = now;
        std::thread::sleep(Duration::from_millis(200));
    }
    let mut told: Vec<String> = readers.into_iter().flat_map(|r| r.join().expect("reads")).collect();
    assert!(children.iter_mut().all(|c| c.wait().expect("waits").success()));
    told.sort();
    let mut kept: Vec<_> = journal.records(&Filter::default()).expect("reads").into_iter().map(|r| r.key).collect();
    kept.sort();
    assert_eq!(told.len(), 2 * EACH as usize);
    assert_eq!(told, kept, "each key that was told, once");
    assert_eq!(journal.documents().expect("reads")[0].vector.len(), actors + 1, "the genesis and {actors} actors");
    assert_eq!(journal.verify().expect("reads").findings, []);
}

/// Both processes are the same device and person, hence the same actor: sequence numbers are taken under the lock.
fn two_processes() {
    run_two("person 1/a", "person 1/bb", 1);
}

fn two_people() {
    run_two("person 1", "person 22", 2);
}

fn killed() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path().join("j");
    drop(start(&folder, 1));
    let mut told = Vec::new();
    for round in 0..8u64 {
        let mut c = child(&folder, &format!("person 1/{}", "x".repeat(round as usize)), 100_000);
        std::thread::sleep(Duration::from_millis(40 + round * 35));
        c.kill().expect("kills");
        told.extend(keys(&mut c));
        c.wait().expect("waits");
        let journal = Journal::open(&folder).expect("opens after a kill");
        let kept: Vec<_> = journal.records(&Filter::default()).expect("reads").into_iter().map(|r| r.key).collect();
        for key in &told {
            assert!(kept.contains(key), "{key} was told to be kept and is gone (round {round})");
        }
        assert_eq!(journal.verify().expect("reads").findings, []);
    }
    assert!(told.len() > 8, "the processes came to record something: {}", told.len());
}
