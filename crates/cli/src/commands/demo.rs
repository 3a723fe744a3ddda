//! The demo: the commands that a crew would type, run as the processes that they would start.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

use ligule_engine::number::counted;
use ligule_engine::{EngineError, Fault, Result};

use crate::args::Demo;

const FILES: [(&str, &str); 6] = [
    ("past-season.txt", include_str!("../../../../demo/past-season.txt")),
    ("eve.txt", include_str!("../../../../demo/eve.txt")),
    ("morning-imke.txt", include_str!("../../../../demo/morning-imke.txt")),
    ("morning-tomas.txt", include_str!("../../../../demo/morning-tomas.txt")),
    ("morning-ruth.txt", include_str!("../../../../demo/morning-ruth.txt")),
    ("weather.csv", include_str!("../../../../demo/weather.csv")),
];

/// The day for which the demo asks: the morning that its files tell of.
const DAY: &str = "2026-05-28";

const FIELDS: [&[&str]; 4] = [
    &[
        "north-40",
        "--region",
        "US-IA",
        "--crop",
        "corn",
        "--row",
        "30in",
        "--area",
        "40ac",
        "--near",
        "42.0318,-93.6203",
    ],
    &[
        "creek-bottom",
        "--region",
        "US-IA",
        "--crop",
        "corn",
        "--row",
        "30in",
        "--area",
        "62ac",
        "--near",
        "42.0402,-93.6011",
    ],
    &[
        "state-line",
        "--region",
        "US-MN",
        "--crop",
        "corn",
        "--row",
        "22in",
        "--area",
        "115ac",
        "--near",
        "43.5051,-93.5580",
    ],
    &[
        "schoolhouse",
        "--region",
        "US-IA",
        "--crop",
        "soybean",
        "--row",
        "15in",
        "--area",
        "78ac",
        "--near",
        "42.0155,-93.6420",
    ],
];

const QUESTIONS: [(&str, &str); 3] = [
    (
        "How did stands compare with what was planted, by season and field?",
        "SELECT s.season, s.field_name, count(*) AS counts, CAST(round(avg(plants_per_acre(s.plants, s.row_width_in, s.length_ft))) AS BIGINT) AS plants_per_acre, \
         round(100 * avg(plants_per_acre(s.plants, s.row_width_in, s.length_ft)) / max(p.seeding_rate_per_ac), 1) AS percent_of_seeds \
         FROM stand_count s JOIN planting p ON p.field = s.field AND p.season = s.season \
         WHERE s.length_ft IS NOT NULL GROUP BY s.season, s.field_name ORDER BY s.season, s.field_name",
    ),
    (
        "Where were plants cut by black cutworm, and how many?",
        "SELECT season, field_name, sum(plants_examined) AS examined, sum(plants_cut) AS cut, \
         round(100.0 * sum(plants_cut) / sum(plants_examined), 1) AS percent_cut \
         FROM pest_count WHERE organism = 'AGROYP' GROUP BY season, field_name ORDER BY season, field_name",
    ),
    (
        "How warm was May, in degree days 86/50 °F, and how many days are missing?",
        "SELECT season, round(sum(degree_days_86_50(tmax_c, tmin_c)), 1) AS degree_days_f, \
         28 - count(tmax_c + tmin_c) AS days_missing \
         FROM weather_day WHERE day BETWEEN make_date(season, 5, 1) AND make_date(season, 5, 28) GROUP BY season ORDER BY season",
    ),
];

/// Plays an invented season through the program's own commands.
pub(crate) fn run(args: &Demo) -> Result<()> {
    let stage = Stage::set(args)?;
    let [imke, tomas, ruth] = stage.crew();

    stage.step(1, "three people start journals, and record a morning apart")?;
    imke.ligule(&["init", "--person", "Imke Voss", "--crew", "Sorrel Creek"])?;
    tomas.ligule(&["init", "--person", "Tomas Rell"])?;
    ruth.ligule(&["init", "--person", "Ruth Anand"])?;
    imke.invite(&tomas)?;
    imke.invite(&ruth)?;
    for field in FIELDS {
        let mut words = vec!["field", "add"];
        words.extend_from_slice(field);
        words.extend_from_slice(&[
            "--grower",
            "Sorrel Creek",
            "--zone",
            "America/Chicago",
            "--station",
            "sorrel-creek",
        ]);
        imke.ligule(&words)?;
    }
    imke.ligule(&["import", "weather", "weather.csv", "--station", "sorrel-creek"])?;
    imke.ligule(&["record", "--accept-time", "--lines", "past-season.txt"])?;
    imke.ligule(&["record", "--accept-time", "--lines", "eve.txt"])?;
    imke.exchange(&[&tomas, &ruth])?;
    say!("\nThe three drive off. From here to step 2 no device sees another.\n");
    imke.ligule(&["record", "--accept-time", "--lines", "morning-imke.txt"])?;
    tomas.ligule(&["record", "--accept-time", "--lines", "morning-tomas.txt"])?;
    ruth.ligule(&["record", "--accept-time", "--lines", "morning-ruth.txt"])?;
    let count = imke.first_count_of_the_eve()?;
    say!("\nTomas and Ruth each remember one of last night's counts on north-40 differently, and correct it:\n");
    tomas.ligule(&["amend", &count, "--plants", "28"])?;
    ruth.ligule(&["amend", &count, "--plants", "26"])?;

    stage.step(2, "the devices meet, exchange records and settle what differs")?;
    imke.exchange(&[&tomas, &ruth, &tomas])?;
    stage.all_alike()?;
    say!("\nA fourth device comes by that does not belong to the crew:\n");
    let stranger = stage.stranger();
    stranger.ligule(&["init", "--person", "A Stranger"])?;
    imke.refuse(&stranger)?;
    say!("\nThe two corrections of one count stand side by side until a person decides:\n");
    ruth.ligule(&["conflicts"])?;
    ruth.ligule(&["resolve", &count, "plants", "28"])?;
    imke.exchange(&[&ruth, &tomas])?;
    imke.ligule(&["conflicts"])?;
    imke.ligule(&["history", &count])?;
    stage.all_alike()?;

    stage.step(3, "both seasons go into the Parquet archive")?;
    imke.ligule(&["compact"])?;
    imke.ligule(&["compact"])?;
    imke.ligule(&["archive", "verify"])?;

    stage.step(4, "three questions to the archive, in SQL")?;
    for (question, sql) in QUESTIONS {
        say!("{question}\n");
        imke.ligule(&["query", sql])?;
    }

    stage.step(5, "assessment, and the rule packs of the region")?;
    imke.ligule(&["pack", "list"])?;
    imke.ligule(&["assess", "north-40", "--as-of", DAY])?;
    imke.ligule(&["advise", "--as-of", DAY])?;

    stage.step(6, "a visit report for the grower")?;
    imke.ligule(&["report", "north-40", "--as-of", DAY, "--out", "north-40.html"])?;
    stage.farewell()
}

/// Where the demo plays.
struct Stage {
    folder: PathBuf,
    program: PathBuf,
}

/// One device: a journal folder of its own.
struct Device<'a> {
    stage: &'a Stage,
    name: &'static str,
}

impl Stage {
    /// Makes the folder and writes the demo's files into it.
    fn set(args: &Demo) -> Result<Self> {
        let program = std::env::current_exe().map_err(EngineError::from)?;
        let folder = match &args.into {
            Some(folder) => {
                std::fs::create_dir(folder).map_err(|error| {
                    EngineError::new(
                        Fault::User,
                        format!("cannot make the folder {}: {error}", folder.display()),
                        "name a folder that is not there yet, in one that is",
                    )
                })?;
                std::path::absolute(folder).map_err(EngineError::from)?
            }
            None => new_folder()?,
        };
        for (name, text) in FILES {
            std::fs::write(folder.join(name), text).map_err(|error| EngineError::from(error).at(&folder.join(name)))?;
        }
        say!("An invented season, played in {}", folder.display());
        say!("Lines that begin with a name and `$` are commands as that person would type them.");
        Ok(Self { folder, program })
    }

    fn crew(&self) -> [Device<'_>; 3] {
        ["imke", "tomas", "ruth"].map(|name| Device { stage: self, name })
    }

    fn stranger(&self) -> Device<'_> {
        Device { stage: self, name: "stranger" }
    }

    fn step(&self, number: u8, what: &str) -> Result<()> {
        say!("\n== step {number} of 6: {what}\n");
        Ok(std::io::stdout().flush()?)
    }

    /// Shows that the three devices give the same answers.
    fn all_alike(&self) -> Result<()> {
        let answers: Vec<String> = self
            .crew()
            .iter()
            .map(|device| device.quietly(&["list", "--voided", "--format", "ndjson"]))
            .collect::<Result<_>>()?;
        if answers.iter().any(|answer| *answer != answers[0]) {
            return Err(EngineError::new(
                Fault::System,
                "the three devices do not answer alike",
                "please report this as an error",
            ));
        }
        let observations = counted(answers[0].lines().count(), "observation", "observations");
        say!("\nall three devices answer alike: {observations} each");
        Ok(())
    }

    fn farewell(&self) -> Result<()> {
        let folder = self.folder.display();
        let ligule = self.typed();
        say!("\nEverything lies in {folder}");
        say!("  journals   imke/ tomas/ ruth/      (one SQLite database each)");
        say!("  archive    imke/archive/           (Parquet, one Delta table a kind)");
        say!("  report     north-40.html           (open it in a browser)");
        say!("\nFive commands to try next, from that folder:");
        say!("  {ligule} --journal imke list north-40 --season 2026");
        say!("  {ligule} --journal imke record stand-count north-40 --row 30in --length 17ft5in --plants 30");
        say!("  {ligule} --journal imke assess creek-bottom --as-of {DAY}");
        say!("  {ligule} --journal imke query --describe stand_count");
        say!("  {ligule} --journal tomas bundle write tomas.ligule-bundle");
        Ok(())
    }

    /// Returns what one types for the program: its name where the shell finds it by that, else its path.
    fn typed(&self) -> String {
        let name = self.program.file_name().unwrap_or_default();
        let folders = std::env::var_os("PATH").unwrap_or_default();
        let found = std::env::split_paths(&folders).map(|folder| folder.join(name)).find(|path| path.is_file());
        let same = found.is_some_and(|found| found.canonicalize().ok() == self.program.canonicalize().ok());
        if same { name.to_string_lossy().into_owned() } else { self.program.display().to_string() }
    }
}

/// Makes a new folder among the system's temporary files.
fn new_folder() -> Result<PathBuf> {
    for number in 1..10_000 {
        let folder = std::env::temp_dir().join(format!("ligule-demo-{number}"));
        match std::fs::create_dir(&folder) {
            Ok(()) => return Ok(folder),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(EngineError::from(error).at(&folder)),
        }
    }
    Err(EngineError::new(Fault::User, "there are ten thousand demo folders already", "name one with `--into FOLDER`"))
}

impl Device<'_> {
    /// Runs a command as the person at this device would, shows it and what it prints, and returns what it printed.
    fn ligule(&self, words: &[&str]) -> Result<String> {
        self.show(words)?;
        let output = self.command(words).output().map_err(EngineError::from)?;
        let printed = String::from_utf8_lossy(&output.stdout).into_owned();
        put!("{printed}");
        eprint!("{}", String::from_utf8_lossy(&output.stderr));
        if !output.status.success() {
            return Err(self.failed(words, &output.stderr));
        }
        Ok(printed)
    }

    /// Runs a command without showing it.
    fn quietly(&self, words: &[&str]) -> Result<String> {
        let output = self.command(words).output().map_err(EngineError::from)?;
        if !output.status.success() {
            return Err(self.failed(words, &output.stderr));
        }
        Ok(String::from_utf8_lossy(&output.stdout).into_owned())
    }

    fn show(&self, words: &[&str]) -> Result<()> {
        let line: Vec<String> =
            words.iter().map(|word| shlex::try_quote(word).map_or_else(|_| (*word).to_owned(), Into::into)).collect();
        say!("{}$ ligule {}", self.name, line.join(" "));
        Ok(std::io::stdout().flush()?)
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(&self.stage.program);
        command
            .args(words)
            .env("LIGULE_JOURNAL", self.stage.folder.join(self.name))
            .current_dir(&self.stage.folder)
            .stdin(Stdio::null());
        for other in ["LIGULE_ARCHIVE", "LIGULE_PACKS", "LIGULE_LOG"] {
            command.env_remove(other);
        }
        command
    }

    fn failed(&self, words: &[&str], stderr: &[u8]) -> EngineError {
        let last = String::from_utf8_lossy(stderr).trim().to_owned();
        EngineError::new(
            Fault::System,
            format!("`ligule {}` failed for {}: {last}", words.join(" "), self.name),
            "please report this as an error",
        )
    }

    /// Starts a command that prints one line and then waits for another device.
    fn waiting(&self, words: &[&str]) -> Result<Waiting> {
        self.show(words)?;
        let mut child = self.command(words).stdout(Stdio::piped()).spawn().map_err(EngineError::from)?;
        let stdout =
            child.stdout.take().ok_or_else(|| EngineError::new(Fault::System, "a child process has no output", ""))?;
        let mut output = BufReader::new(stdout);
        let mut line = String::new();
        output.read_line(&mut line).map_err(EngineError::from)?;
        put!("{line}");
        Ok(Waiting { child, output, line })
    }

    /// Invites another device, which joins.
    fn invite(&self, other: &Device<'_>) -> Result<()> {
        let waiting = self.waiting(&["crew", "invite", "--listen", "127.0.0.1:0"])?;
        let ticket = waiting.line.trim().to_owned();
        other.ligule(&["crew", "join", &ticket])?;
        waiting.finish()
    }

    /// Waits for other devices of the crew, which come one after the other.
    fn exchange(&self, others: &[&Device<'_>]) -> Result<()> {
        let number = others.len().to_string();
        let waiting =
            self.waiting(&["sync", "serve", "--listen", "127.0.0.1:0", "--quiet-network", "--exchanges", &number])?;
        let address = waiting.address()?;
        for other in others {
            other.ligule(&["sync", "with", &address])?;
        }
        waiting.finish()
    }

    /// Waits while a device tries that does not belong to the crew.
    fn refuse(&self, stranger: &Device<'_>) -> Result<()> {
        let waiting = self.waiting(&["sync", "serve", "--listen", "127.0.0.1:0", "--quiet-network"])?;
        let address = format!("{}#{}", waiting.address()?, self.device()?);
        stranger.show(&["sync", "with", &address])?;
        let output = stranger.command(&["sync", "with", &address]).output().map_err(EngineError::from)?;
        put!("{}", String::from_utf8_lossy(&output.stderr));
        drop(waiting);
        let told = String::from_utf8_lossy(&output.stderr).contains("does not know this one as a member");
        if output.status.code() != Some(5) || !told {
            return Err(EngineError::new(
                Fault::System,
                "a stranger was not refused",
                "please report this as an error",
            ));
        }
        stranger.ligule(&["list"])?;
        Ok(())
    }

    /// Returns this device's identifier, which a stranger may have read over somebody's shoulder.
    fn device(&self) -> Result<String> {
        let members = self.quietly(&["crew", "show", "--format", "ndjson"])?;
        let own = members.lines().find(|line| line.contains("this device")).unwrap_or_default();
        Ok(json(own)?["device"].as_str().unwrap_or_default().to_owned())
    }

    /// Returns the key of the first stand count of the evening before.
    fn first_count_of_the_eve(&self) -> Result<String> {
        let lines =
            self.quietly(&["list", "north-40", "--kind", "stand-count", "--season", "2026", "--format", "ndjson"])?;
        let first = lines.lines().next().unwrap_or_default();
        Ok(json(first)?["observation"].as_str().unwrap_or_default().to_owned())
    }
}

fn json(line: &str) -> Result<serde_json::Value> {
    serde_json::from_str(line).map_err(|error| {
        EngineError::new(Fault::System, format!("a listing is no JSON: {error}"), "please report this as an error")
    })
}

/// A command that waits for another device.
struct Waiting {
    child: Child,
    output: BufReader<std::process::ChildStdout>,
    line: String,
}

impl Waiting {
    /// Returns the address in the line that `sync serve` prints first.
    fn address(&self) -> Result<String> {
        let word = self.line.split(&[' ', ';'][..]).find(|word| word.parse::<std::net::SocketAddr>().is_ok());
        word.map(str::to_owned).ok_or_else(|| {
            EngineError::new(
                Fault::System,
                format!("no address in `{}`", self.line.trim()),
                "please report this as an error",
            )
        })
    }

    /// Lets it come to its end and prints what it still says.
    fn finish(mut self) -> Result<()> {
        let mut rest = String::new();
        self.output.read_to_string(&mut rest).map_err(EngineError::from)?;
        put!("{rest}");
        let status = self.child.wait().map_err(EngineError::from)?;
        if status.success() {
            return Ok(());
        }
        Err(EngineError::new(
            Fault::System,
            format!("a waiting command ended with {status}"),
            "please report this as an error",
        ))
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        // An error on the way must not leave a process behind; one that has ended already cannot be killed.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
