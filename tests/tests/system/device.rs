//! A device of an invented crew: a journal in a folder of a place.

use std::io::{BufRead, BufReader, Read};
use std::path::PathBuf;
use std::process::{Child, ChildStdout, Stdio};

use ligule_testkit::{Answer, Place};
use serde_json::Value;

/// A journal in the folder `name` of a place, whose person has the same name.
pub(crate) struct Device<'a> {
    place: &'a Place,
    name: &'a str,
}

/// All that a device answers of its records: what refused input must leave as it is.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Held {
    observations: String,
    fields: String,
    digest: String,
}

impl<'a> Device<'a> {
    /// Starts a journal.
    pub(crate) fn new(place: &'a Place, name: &'a str) -> Self {
        let device = Self { place, name };
        device.does(&["init", "--person", name, "--crew", "Sorrel Creek"]);
        device
    }

    /// Takes a journal that lies in the folder already.
    pub(crate) fn that_is_there(place: &'a Place, name: &'a str) -> Self {
        Self { place, name }
    }

    /// Starts a journal with the field `north-40`, a field of corn in Iowa.
    pub(crate) fn with_field(place: &'a Place, name: &'a str) -> Self {
        let device = Self::new(place, name);
        device.does(&[
            "field",
            "add",
            "north-40",
            "--grower",
            "Sorrel Creek",
            "--region",
            "US-IA",
            "--zone",
            "America/Chicago",
            "--crop",
            "corn",
        ]);
        device
    }

    /// Asks the program.
    pub(crate) fn asks(&self, arguments: &[&str]) -> Answer {
        let mut words = vec!["--journal", self.name];
        words.extend_from_slice(arguments);
        self.place.ligule(&words)
    }

    /// Asks the program, which does it; returns what it wrote to stdout.
    #[track_caller]
    pub(crate) fn does(&self, arguments: &[&str]) -> String {
        self.asks(arguments).exits(0).stdout
    }

    /// Starts the program with both outputs in pipes.
    pub(crate) fn starts(&self, arguments: &[&str]) -> Child {
        let mut words = vec!["--journal", self.name];
        words.extend_from_slice(arguments);
        self.place.command(&words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("`ligule` starts")
    }

    /// Records a stand count on `north-40` at noon of a day in May 2026; returns its key.
    pub(crate) fn counts(&self, day: u8, plants: u32) -> String {
        let (at, plants) = (format!("2026-05-{day:02}T12:00"), plants.to_string());
        let said = self.does(&[
            "record",
            "stand-count",
            "north-40",
            "--row",
            "30in",
            "--length",
            "17ft5in",
            "--plants",
            &plants,
            "--at",
            &at,
        ]);
        let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
        key.to_owned()
    }

    /// Lists everything, void observations too, a line each.
    pub(crate) fn lists(&self) -> String {
        self.does(&["list", "--voided", "--format", "ndjson"])
    }

    /// Lists everything, read.
    pub(crate) fn observations(&self) -> Vec<Value> {
        self.lists().lines().map(|line| serde_json::from_str(line).expect("a line is an object")).collect()
    }

    /// Tells all that it holds.
    pub(crate) fn holds(&self) -> Held {
        let crew = self.does(&["crew", "show"]);
        let digest = crew.lines().find(|line| line.starts_with("crew \"") || line.starts_with("equipo \""));
        let digest = digest.and_then(|line| line.split(' ').next_back()).expect("the digest is told").to_owned();
        Held { observations: self.lists(), fields: self.does(&["field", "list", "--format", "csv"]), digest }
    }

    /// The folder of the journal.
    pub(crate) fn folder(&self) -> PathBuf {
        self.place.folder().join(self.name)
    }

    /// The place of the journal.
    pub(crate) fn place(&self) -> &'a Place {
        self.place
    }

    /// The name of the journal's folder, relative to the place.
    pub(crate) fn name(&self) -> &'a str {
        self.name
    }

    /// Brings another device into the crew.
    pub(crate) fn invites(&self, other: &Device<'_>) {
        let inviting = Waiting::start(self, &["crew", "invite", "--listen", "127.0.0.1:0"]);
        other.does(&["crew", "join", &inviting.first_line]);
        inviting.ends();
    }

    /// Exchanges records with a device that waits for it; returns what this one printed.
    pub(crate) fn exchanges_with(&self, other: &Device<'_>) -> String {
        let serving = Waiting::serving(other, "1");
        let said = self.does(&["sync", "with", serving.address()]);
        serving.ends();
        said
    }
}

/// A process that printed a line and now waits; it is ended when this value goes.
pub(crate) struct Waiting {
    child: Child,
    stdout: BufReader<ChildStdout>,
    /// What it printed first.
    pub(crate) first_line: String,
}

impl Waiting {
    /// Starts the program and reads its first line.
    pub(crate) fn start(device: &Device<'_>, arguments: &[&str]) -> Self {
        let mut child = device.starts(arguments);
        let mut stdout = BufReader::new(child.stdout.take().expect("stdout is a pipe"));
        let mut first_line = String::new();
        stdout.read_line(&mut first_line).expect("stdout can be read");
        let waiting = Self { child, stdout, first_line: first_line.trim().to_owned() };
        assert!(!waiting.first_line.is_empty(), "{arguments:?} ended at once: {}", waiting.ends_somehow().stderr);
        waiting
    }

    /// Serves `exchanges` exchanges on the loopback network, announced to nobody.
    pub(crate) fn serving(device: &Device<'_>, exchanges: &str) -> Self {
        let listen = ["sync", "serve", "--listen", "127.0.0.1:0", "--quiet-network", "--exchanges", exchanges];
        Self::start(device, &listen)
    }

    /// The address on which it listens.
    pub(crate) fn address(&self) -> &str {
        let told = self.first_line.split_once(" (").expect("it tells where it listens, and how to reach it").0;
        told.split(' ').next_back().expect("an address")
    }

    /// Waits for the next line that it writes to stderr, and ends it then.
    pub(crate) fn tells_next(mut self) -> String {
        let mut line = String::new();
        let stderr = self.child.stderr.take().expect("stderr is a pipe");
        BufReader::new(stderr).read_line(&mut line).expect("stderr can be read");
        line
    }

    /// Waits until it ends well; returns what it printed after its first line.
    pub(crate) fn ends(self) -> Answer {
        self.ends_somehow().exits(0)
    }

    /// Ends it at once, as a power cut does.
    pub(crate) fn loses_power(mut self) {
        self.child.kill().expect("the process is ours");
        self.child.wait().expect("the process is ours");
    }

    fn ends_somehow(mut self) -> Answer {
        let (mut stdout, mut stderr) = (String::new(), String::new());
        self.stdout.read_to_string(&mut stdout).expect("UTF-8");
        self.child.stderr.take().expect("stderr is a pipe").read_to_string(&mut stderr).expect("UTF-8");
        let status = self.child.wait().expect("the process is ours");
        Answer { code: status.code(), stdout, stderr }
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to end.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
