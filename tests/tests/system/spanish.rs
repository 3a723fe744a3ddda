//! A day of a scout who reads Spanish and metres: what is printed is held word by word, and none of it is English.

use std::io::Write;
use std::process::Stdio;

use ligule_testkit::{Place, filtered, repository_root};
use regex::Regex;
use snapbox::{Data, assert_data_eq};

use crate::device::{Device, Waiting};

/// Words of English sentences that are neither Spanish nor a code nor a unit.
const ENGLISH: [&str; 32] = [
    "a new",
    "already",
    "and",
    "are",
    "by",
    "error reading",
    "expected",
    "for",
    "from",
    "give",
    "got",
    "hint",
    "is",
    "it",
    "missing",
    "not",
    "note",
    "nothing",
    "of",
    "on",
    "recorded",
    "see",
    "that",
    "the",
    "there",
    "this",
    "to",
    "usage",
    "was",
    "which",
    "with",
    "you",
];

/// Holds what the program said to a Spanish reader to have no English in it, what is typed aside.
#[track_caller]
fn is_spanish(said: &str) {
    // What a column can tell is listed as it is typed, without marks around it.
    let typed = Regex::new(r#"`[^`]*`|"[^"]*"|--[a-z-]+|puede decir .*"#).expect("a fixed pattern");
    for line in said.lines().filter(|line| !line.starts_with("$ ")) {
        let words = typed.replace_all(line, "`").to_lowercase();
        let words: Vec<&str> = words.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let told = format!(" {} ", words.join(" "));
        let english = ENGLISH.iter().find(|word| told.contains(&format!(" {word} ")));
        assert_eq!(english, None, "in: {line}");
    }
}

/// Types a line.
fn types(place: &Place, line: &str) -> String {
    let words = shlex::split(line).expect("a command");
    let answer = place.ligule(&words.iter().map(String::as_str).collect::<Vec<_>>());
    answer.stdout + &answer.stderr
}

/// Answers the questions of a visit; returns what was said, with what differs from run to run taken out.
fn visits(place: &Place, line: &str, answers: &[&str]) -> String {
    let words = shlex::split(line).expect("a command");
    let mut command = place.command(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let mut visit = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("`ligule` starts");
    let text = answers.iter().map(|answer| format!("{answer}\n")).collect::<String>();
    visit.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("it reads");
    let said = visit.wait_with_output().expect("it ends").stdout;
    filtered(&format!("$ ligule {line}\n{}", String::from_utf8(said).expect("UTF-8")), place.folder())
}

/// Takes blanks at the ends of lines out, and the parts of identifiers that tables show.
fn settled(transcript: &str) -> String {
    let mut text = transcript.to_owned();
    for (pattern, sign) in [
        (r"resumen [0-9a-f]{16}", "resumen [DIGEST]"),
        (r"marca \d{4}-\d\d-\d\dT\d\d:\d\d:\d\d", "marca [INSTANT]"),
        (r"\[INSTANT\] +[0-9a-f]{8}( +[0-9a-f]{8})?", "[INSTANT] [ID]"),
        (r"-{20,}|[ \t]+\n", "\n"),
    ] {
        text = Regex::new(pattern).expect("a fixed pattern").replace_all(&text, sign).into_owned();
    }
    text
}

#[test]
fn a_day_in_spanish_and_metres_is_what_it_was() {
    let mut place = Place::new();
    place.set("LIGULE_JOURNAL", "diario");
    for line in [
        "init --person Imke --crew Acedera --language es",
        "crew set language es",
        "crew set units metric",
        "field add lote-40 --grower Acedera --region MX-JAL --zone America/Mexico_City --crop corn --near 20.6,-103.3",
        "field add lote-40 --grower Acedera --region MX-JAL --zone America/Mexico_City",
        "field add lote-41 --grower Acedera --region MX-JAL --zone Jalisco",
        "field add lote-41 --grower Acedera --region MX-JAL --zone America/Mexico_City --crop corn --row 76,2cm",
        "field amend lote-41 --area 16.125",
        "kind stand-count",
        "kind harvest",
        "crew show",
    ] {
        types(&place, line);
    }
    // What can be observed, one after the other.
    for line in [
        "planting lote-40 --at 2026-05-01T12:00 --day 2026-05-01 --crop corn --rate 80000 --row 76 --depth 5",
        "stand-count lote-40 --length 5,31 --row 76 --plants 31 --at 2026-05-28T08:01",
        "stand-count lote-40 --length 5.31 --row 76 --plants 30 --at 2026-05-28T08:02",
        "plant-spacing lote-40 --row 76 --positions '0 15 31 47 61' --at 2026-05-28T08:03",
        "leaf-stage lote-40 --collars '4 4 5 4 3' --at 2026-05-28T08:04",
        "plant-height lote-40 --heights '20 22 25' --at 2026-05-28T08:05",
        "seed-depth lote-40 --seed-to-surface '3,5 4,2' --at 2026-05-28T08:06",
        "root-check lote-40 --plants 5 --limiting-depth 12 --at 2026-05-28T08:07",
        "soil-check lote-40 --depth 5 --temperature 12,5 --at 2026-05-28T08:08",
        "plant-health lote-40 --plants 50 --root-lodged 2 --at 2026-05-28T08:09",
        "pest-count lote-40 --organism 'gusano cortador negro' --plants 100 --cut 4 --at 2026-05-28T08:10",
        "weed-count lote-40 --weed AMATU --height 10 --density 5 --at 2026-05-28T08:11",
        "disease lote-40 --organism PUCCSO --plants 100 --affected 10 --at 2026-05-28T08:12",
        "nutrient-test lote-40 --material suelo --depth-to 30 --ph 6,5 --at 2026-05-28T08:13",
        "application lote-40 --active glyphosate --day 2026-06-01 --reentry 12 --temperature 25 --wind 10 --at 2026-06-01T09:00",
        "hail-damage lote-40 --event 2026-06-10 --defoliation 40 --stage V8 --at 2026-06-16T09:10",
        "frost-damage lote-40 --event 2026-06-11 --lowest -1,5 --defoliation 10 --stage V8 --at 2026-06-16T09:00",
        "note lote-40 --text 'granizo leve' --at 2026-05-28T08:14",
        "yield-estimate lote-40 --estimate 9,4t/ha --at 2026-08-20T09:00",
        "harvest lote-41 --day 2026-10-07 --yield 9,4t/ha --basis dry --moisture 15,5 --population 75000 --at 2026-10-07T18:00",
    ] {
        types(&place, &format!("record {line}"));
    }
    // What does not hold.
    for line in [
        "record stand-count lote-40 --row 76 --length 5.31 --plants 31 --at ayer",
        "record stand-count lote-40 --row 76 --length 5.31 --plants 31 --at 2126-05-28",
        "record stand-count lote-40 --row 76 --length 5.31 --plants 31 --near norte",
        "record stand-count lote-40 --row 76 --length 5.31 --plants 31 --near 20.6,103.3",
        "record stand-count --row 76 --length 5.31 --plants 31 --near 20.6,-103.3",
        "record stand-count lote-40 --row 760 --length 5.31 --plants 31",
        "record stand-count lote-40 --row 76 --length cinco --plants 31",
        "record stand-count lote-40 --row 76 --lenght 5.31 --plants 31",
        "record stand-count lote-40 --row 76 --length",
        "record stand-count",
        "record stand-cuont lote-40",
        "record photo lote-40 nada.jpg",
        "record harvest lote-41 --day 2026-10-07 --population 75.000 --at 2026-10-07T18:00",
        "record harvest lote-41 --day 2026-10-07 --yield-mass 94 --at 2026-10-07T18:00",
        "record seed-depth lote-40 --seed-to-surface 3,5",
        "record stand-count lote-40 --row 76 --row 75 --length 5.31 --length 5 --length 4 --plants 31",
        "record",
        "amend 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-01 --plants 3",
        "history 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-01",
        "visit show 01J9Z3K7W8Q2R5T6V7X8Y9Z0A1",
        "visit",
        "photo show 12345678",
        "list lote-40 --season mayo",
        "borrar todo",
    ] {
        let said = types(&place, line);
        assert!(said.contains("error: "), "{line}: {said}");
    }
    // Correcting.
    let said = place.command(&["list", "lote-41", "--format", "csv"]).output().expect("it starts").stdout;
    let said = String::from_utf8(said).expect("UTF-8");
    let key = said.lines().nth(1).and_then(|line| line.split(',').next()).expect("the harvest").to_owned();
    let visit = key.split('-').next().expect("its visit").to_owned();
    for line in [
        format!("amend {key} --moisture 15,0 --yield 9,1t/ha"),
        format!("amend {key} --color rojo"),
        format!("amend {key} --moisture"),
        format!("resolve {key} moisture 15"),
        format!("history {key}"),
        format!("visit move {visit} lote-41"),
        format!("visit move {visit} lote-40 --why 'lote equivocado'"),
        format!("visit show {visit}"),
        "visit list lote-40".to_owned(),
        format!("void {key} --why ' '"),
        format!("void {key} --why repetida"),
        format!("amend {key} --moisture 14"),
    ] {
        types(&place, &line);
    }
    // Sheets and lines.
    let folder = place.folder().to_owned();
    let puts = |name: &str, text: &str| std::fs::write(folder.join(name), text).expect("the folder can be written");
    let header = "Lote;Fecha;Ancho de surco (cm);Largo de surco (m);Plantas";
    puts("conteos.csv", &format!("{header}\nlote-40;28/05/2026;76;5,31;31\nlote-40;29/05/2026;76;5,31;29\n"));
    puts("malos.csv", "Lote;Fecha;Ancho;Largo\nlote-40;2026-05-28;76;5,31\n");
    puts("lineas.txt", "stand-count lote-40 --plants 30\nstand-cuont lote-40\nnote lote-40 --text \"a\n");
    for line in [
        "import observations conteos.csv",
        "import observations conteos.csv --decimal comma --yes",
        "import observations conteos.csv",
        "import observations conteos.csv --column Fecha=wat",
        "import observations malos.csv",
        "import observations malos.csv --kind stand-count",
        "record --lines lineas.txt",
        "list lote-40",
        "assess lote-40 --as-of 2026-08-20",
        "conflicts",
    ] {
        types(&place, line);
    }
    let sitting = visits(
        &place,
        "visit lote-41 --kinds stand-count",
        &["atrás", "76", "5,31", "31", "listo", "otra", "", "", "muchas", "29", "terminar"],
    );
    let said = settled(&(place.transcript() + &sitting));
    let expected = repository_root().join("tests/tests/system/spanish.txt");
    assert_data_eq!(said.clone(), Data::read_from(&expected, None).raw());
    is_spanish(&said);
}

#[test]
fn two_spanish_devices_meet_and_settle_what_differs() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    let key = imke.counts(20, 31);
    imke.does(&["crew", "set", "language", "es"]);
    imke.does(&["crew", "set", "units", "metric"]);
    imke.invites(&tomas);
    is_spanish(&tomas.exchanges_with(&imke));
    tomas.does(&["amend", &key, "--plants", "30"]);
    imke.does(&["amend", &key, "--plants", "29"]);
    let said = tomas.exchanges_with(&imke);
    assert!(said.contains("1 conflicto espera que alguien decida"), "{said}");
    let waits = tomas.asks(&["conflicts"]).exits(0);
    let visit = key.split('-').next().expect("a visit");
    let moves = tomas.asks(&["visit", "move", visit, "north-40"]).exits(2);
    let resolved = tomas.does(&["resolve", &key, "plants", "30"]);
    assert!(resolved.contains("Plantas es 30"), "{resolved}");
    tomas.does(&["bundle", "write", "b.bundle"]);
    let bundle = imke.does(&["bundle", "read", "b.bundle"]);
    // A port that nobody listens on: it was free a moment ago.
    let free = std::net::UdpSocket::bind("127.0.0.1:0").and_then(|socket| socket.local_addr()).expect("a free port");
    let nobody = tomas.asks(&["sync", "with", &free.to_string()]).exits(5);
    let mut said = vec![said, waits.stdout, waits.stderr, moves.stderr, bundle, nobody.stderr];
    imke.does(&["crew", "remove", "tomas"]);
    let serving = Waiting::serving(&imke, "1");
    said.push(tomas.asks(&["sync", "with", serving.address()]).exits(5).stderr);
    for said in said {
        is_spanish(&said);
    }
}
