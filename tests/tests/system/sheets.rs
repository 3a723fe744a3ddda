//! Sheets of observations: guessed, confirmed, recorded once, and refused clearly.

use std::fmt::Write;
use std::fs;

use ligule_testkit::{Place, run_python};
use serde_json::Value;

use crate::device::Device;

const COUNTS: &str = "Field,Date,Time,Scout,Row width (in),Length (ft),Plants\n\
                      north-40,2025-05-28,07:05,Tomas Reyes,30,17.5,31\n\
                      north-40,2025-05-28,07:11,Tomas Reyes,30,17.5,27\n\
                      north-40,2025-05-28,07:17,,30,17.5,29\n";

fn write(device: &Device<'_>, name: &str, text: impl AsRef<[u8]>) {
    fs::write(device.place().folder().join(name), text).expect("a file can be written");
}

/// Asks for an import with all rows told to programs; returns them and what was said.
fn imports(device: &Device<'_>, words: &[&str], code: i32) -> (Vec<Value>, String) {
    let mut all = vec!["import", "observations", "--format", "json"];
    all.extend_from_slice(words);
    let answer = device.asks(&all).exits(code);
    let rows = if answer.stdout.is_empty() { Vec::new() } else { serde_json::from_str(&answer.stdout).expect("JSON") };
    (rows, answer.stderr)
}

fn states(rows: &[Value]) -> Vec<&str> {
    rows.iter().map(|row| row["state"].as_str().expect("a row has a state")).collect()
}

#[test]
fn a_sheet_is_confirmed_once_and_recorded_once() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    write(&device, "counts.csv", COUNTS);
    // Nobody can be asked in a pipe: nothing happens.
    let before = device.holds();
    let asked = device.asks(&["import", "observations", "counts.csv"]).exits(2);
    assert!(asked.stderr.contains("row_width") && asked.stderr.contains("--yes"), "{}", asked.stderr);
    let dry = device.asks(&["import", "observations", "counts.csv", "--dry-run"]).exits(0);
    assert!(dry.stdout.contains("plants 31") && dry.stderr.contains("3 new observations"), "{}", dry.stderr);
    assert_eq!(device.holds(), before);
    assert_eq!(device.does(&["import", "mapping", "list"]), "no mappings are kept\n");

    let said = device.does(&["import", "observations", "counts.csv", "--yes"]);
    assert_eq!(said, "recorded 3 observations on north-40\n");
    let listed = device.lists();
    assert!(listed.contains("\"by\":\"Tomas Reyes\"") && listed.contains("2025-05-28T07:05:00-05:00"), "{listed}");
    // From now on such a sheet needs no word, and this one adds nothing.
    let after = device.holds();
    let again = device.does(&["import", "observations", "counts.csv"]);
    assert_eq!(again, "recorded 0 observations; 3 there already\n");
    assert_eq!(device.holds(), after);
    assert!(device.does(&["import", "mapping", "list"]).contains("stand-count"));

    // A changed row says what differs, and what to do.
    write(&device, "counts.csv", COUNTS.replace(",27\n", ",28\n"));
    let changed = device.asks(&["import", "observations", "counts.csv"]).exits(2);
    assert!(changed.stderr.contains("the sheet says plants 28, the journal 27"), "{}", changed.stderr);
    assert!(changed.stderr.contains("ligule amend 0"), "{}", changed.stderr);
    assert_eq!(device.holds(), after);
    write(&device, "counts.csv", COUNTS);

    // The mapping travels as a file, and goes when it is told to.
    let text = device.does(&["import", "mapping", "show", "stand-count"]);
    write(&device, "mapping.toml", &text);
    device.does(&["import", "mapping", "remove", "stand-count"]);
    device.asks(&["import", "observations", "counts.csv"]).exits(2);
    device.does(&["import", "observations", "counts.csv", "--mapping", "mapping.toml"]);
    let unknown = device.asks(&["import", "observations", "counts.csv", "--mapping", "stand-cont"]).exits(2);
    assert!(unknown.stderr.contains("there is no mapping"), "{}", unknown.stderr);
}

#[test]
fn two_devices_that_import_one_sheet_have_its_observations_once() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    write(&imke, "counts.csv", COUNTS);
    imke.does(&["import", "observations", "counts.csv", "--yes"]);
    tomas.does(&["import", "observations", "counts.csv", "--yes"]);
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        assert_eq!(device.observations().len(), 3);
        assert_eq!(device.does(&["conflicts", "--format", "ndjson"]), "");
        assert_eq!(
            device.does(&["import", "observations", "counts.csv"]),
            "recorded 0 observations; 3 there already\n"
        );
    }
    assert_eq!(imke.lists(), tomas.lists());
}

#[test]
fn all_or_nothing_unless_the_good_rows_are_asked_for() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let bad = "north-41,2025-05-28,07:20,,30,17.5,31\n\
               north-40,2025-05-28,07:21,,300,17.5,31\n\
               north-40,2025-05-28,07:22,,30,17.5,\"3,1\"\n\
               north-40,2025-05-28,07:23,,30\n";
    write(&device, "counts.csv", format!("{COUNTS}{bad}"));
    let before = device.holds();
    let (rows, said) = imports(&device, &["counts.csv", "--yes"], 2);
    assert!(said.contains("4 rows are rejected; nothing was recorded"), "{said}");
    let told: Vec<String> = rows
        .iter()
        .map(|row| format!("{} {} `{}`", row["line"], row["column"].as_str().unwrap(), row["value"].as_str().unwrap()))
        .collect();
    assert_eq!(
        told,
        ["5 Field `north-41`", "6 Row width (in) `300`", "7 Plants `3,1`", "8  `north-40,2025-05-28,07:23,,30`"]
    );
    assert!(rows[0]["hint"].as_str().unwrap().contains("did you mean `north-40`"), "{}", rows[0]);
    assert!(rows[2]["reason"].as_str().unwrap().contains("--decimal comma"), "{}", rows[2]);
    assert_eq!(device.holds(), before);
    // People read the same.
    let people = device.asks(&["import", "observations", "counts.csv", "--yes"]).exits(2).stderr;
    assert!(people.contains("line 6, column `Row width (in)`, `300`: `--row` of `stand-count` must lie"), "{people}");
    let (rows, _) = imports(&device, &["counts.csv", "--yes", "--keep-good"], 0);
    assert_eq!(states(&rows), ["new", "new", "new", "rejected", "rejected", "rejected", "rejected"]);
    assert_eq!(device.observations().len(), 3);
}

const DAYS: &str = "Field,Date,Row width (in),Length (ft),Plants\n";

/// Two people counted on one day, each into a sheet of their own; one number is the same.
#[test]
fn a_second_sheet_of_one_day_waits_for_a_word_and_is_then_there_whole() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let row = |day: u8, plants: u8| format!("north-40,2025-06-0{day},30,17.4,{plants}\n");
    write(&device, "one.csv", format!("{DAYS}{}{}", row(3, 31), row(3, 29)));
    write(&device, "two.csv", format!("{DAYS}{}{}{}", row(3, 31), row(3, 27), row(4, 33)));
    let said = device.asks(&["import", "observations", "one.csv", "--yes"]).exits(0).stderr;
    assert!(said.contains("no column tells who observed: recorded as seen by "), "{said}");
    let before = device.holds();
    let (rows, said) = imports(&device, &["two.csv", "--yes"], 2);
    assert_eq!(states(&rows), ["differs"]);
    assert!(said.contains("1 row is not as imported before; nothing was recorded"), "{said}");
    assert!(said.contains("--further=all"), "{said}");
    assert_eq!(device.holds(), before);
    let (rows, _) = imports(&device, &["two.csv", "--yes", "--further=all"], 0);
    assert_eq!(states(&rows), ["new", "new", "new"]);
    for again in [&["two.csv", "--further=all"][..], &["two.csv"], &["one.csv"]] {
        let (rows, _) = imports(&device, again, 0);
        assert!(states(&rows).iter().all(|state| *state == "known"), "{again:?}");
    }
    assert_eq!(device.observations().len(), 5);
}

/// What was imported under the wrong field and moved is known when the sheet comes again with the right one; where another
/// device had not heard of it, what is there twice is told and one of each made void.
#[test]
fn a_sheet_that_was_moved_and_then_corrected_is_there_once() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    let field = "field add creek --grower Voss --region US-IA --zone America/Chicago --crop corn";
    imke.does(&field.split(' ').collect::<Vec<_>>());
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    write(&imke, "counts.csv", COUNTS);
    imke.does(&["import", "observations", "counts.csv", "--yes"]);
    let visits: Vec<Value> =
        serde_json::from_str(&imke.does(&["visit", "list", "north-40", "--format", "json"])).expect("JSON");
    assert_eq!(visits.len(), 2, "one names a scout, the other nobody");
    for visit in &visits {
        imke.does(&["visit", "move", visit["visit"].as_str().expect("a visit"), "creek"]);
    }
    write(&imke, "counts.csv", COUNTS.replace("north-40", "creek"));
    let (rows, _) = imports(&imke, &["counts.csv"], 0);
    assert_eq!(states(&rows), ["known", "known", "known"]);
    assert_eq!(imke.does(&["field", "doubles"]), "nothing is there twice\n");
    // Tomas has not heard of the move.
    tomas.does(&["import", "observations", "counts.csv", "--yes"]);
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        let doubles = device.does(&["field", "doubles", "--format", "ndjson"]);
        assert_eq!(doubles.lines().count(), 3, "{doubles}");
        assert_eq!(device.does(&["field", "doubles", "creek", "--format", "ndjson"]), doubles);
        assert_eq!(device.does(&["field", "doubles", "north-40", "--format", "ndjson"]), "");
    }
    assert!(tomas.does(&["field", "doubles", "--void"]).contains("3 doubles are void"));
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        assert_eq!(device.does(&["field", "doubles"]), "nothing is there twice\n");
        let creek = device.does(&["list", "creek", "--format", "ndjson"]);
        assert_eq!(creek.lines().count(), 3, "{creek}");
    }
}

/// A sheet that tells a day and nothing that the program knows is asked about, and makes no harvests.
#[test]
fn a_day_alone_is_no_harvest() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    for (header, why) in [
        ("Field,Date,Stand count", "the nearest is `stand-count`, for which no column tells `row_width` and `length`"),
        ("Field,Date,Wd,Len,Cnt", "tell no kind of observation"),
        ("Counts of June", "`--header-row 2`"),
    ] {
        let cells = ["north-40", "2025-06-03", "30", "17.4", "31"];
        let columns = header.split(',').count().max(3);
        write(&device, "odd.csv", format!("{header}\n{}\n", cells[..columns].join(",")));
        let said = device.asks(&["import", "observations", "odd.csv", "--yes"]).exits(2).stderr;
        assert!(said.contains(why), "{header}: {said}");
    }
    let said = device.asks(&["record", "harvest", "north-40", "--day", "2025-10-07"]).exits(2).stderr;
    assert!(said.contains("needs `--yield`, or `--yield-mass`, or"), "{said}");
    write(&device, "yield.csv", "Lote,Fecha,Rendimiento (t/ha)\nnorth-40,2025-10-07,12\n");
    device.does(&["import", "observations", "yield.csv", "--yes"]);
    assert!(device.lists().contains("\"yield_mass\":\"12000\""), "{}", device.lists());
}

/// A date that can be read in two ways holds back its own row alone, by its line.
#[test]
fn one_ambiguous_date_is_one_row() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    write(&device, "counts.csv", COUNTS.replace("2025-05-28,07:11", "5/6/2025,07:11"));
    let said = device.asks(&["import", "observations", "counts.csv", "--yes"]).exits(2).stderr;
    assert!(said.contains("line 3, column `Date`, `5/6/2025`") && said.contains("--dates mdy"), "{said}");
    let said = device.does(&["import", "observations", "counts.csv", "--yes", "--keep-good"]);
    assert_eq!(said, "recorded 2 observations on north-40; 1 rejected\n");
}

/// In which order one sheet writes its days says nothing of the next one; what a person says is kept.
#[test]
fn an_order_of_dates_that_was_deduced_is_not_kept() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let sheet = |day: &str| format!("Field,Date,Row width (in),Length (ft),Plants\nnorth-40,{day},30,17.4167,31\n");
    write(&device, "dots.csv", sheet("19.06.2026"));
    write(&device, "two.csv", sheet("5/6/2026"));
    device.asks(&["import", "observations", "dots.csv", "--yes"]).exits(0);
    let refused = device.asks(&["import", "observations", "two.csv", "--yes"]);
    assert!(refused.code != Some(0) && refused.stderr.contains("--dates mdy"), "{refused:?}");
    device.asks(&["import", "observations", "two.csv", "--yes", "--dates", "dmy"]).exits(0);
    write(&device, "next.csv", sheet("7/6/2026"));
    device.asks(&["import", "observations", "next.csv", "--yes"]).exits(0);
    for day in ["2026-06-19", "2026-06-05", "2026-06-07"] {
        assert!(device.lists().contains(day), "{day}");
    }
}

#[test]
fn a_workbook_says_what_a_csv_says() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let field = "field add creek --grower Voss --region US-IA --zone America/Chicago --crop corn";
    device.does(&field.split(' ').collect::<Vec<_>>());
    let _ = run_python("sheets.py", [place.folder()]);
    let said = device.asks(&["import", "observations", "counts.xlsx", "--yes"]).exits(0);
    assert_eq!(said.stdout, "recorded 3 observations on creek, north-40\n");
    let lists = device.lists();
    for text in
        ["2025-05-28T07:05:00-05:00", "2025-05-28T13:40:00-05:00", "\"plants\":\"27.5\"", "\"length\":\"17.4167\""]
    {
        assert!(lists.contains(text), "{text} is not in {lists}");
    }
    // The same as CSV is the same.
    let csv = "Field,Date,Time,Row width (in),Length (ft),Plants,Remarks\n\
               north-40,5/28/2025,7:05 AM,30,17ft5in,31,\n\
               north-40,28 May 2025,07:11,30in,17.4166666666667,27.5,\n\
               creek,2025-05-28 13:40,,30,17.4167,29,\n";
    write(&device, "counts.csv", csv);
    let again = device.does(&["import", "observations", "counts.csv", "--mapping", "stand-count", "--yes"]);
    assert_eq!(again, "recorded 0 observations; 3 there already\n");
    // So is what another program wrote, which keeps its texts in another place; it has a row more.
    let shared = device.does(&["import", "observations", "shared.xlsx"]);
    assert_eq!(shared, "recorded 1 observation on north-40; 3 there already\n");
    assert!(device.lists().contains("2025-05-28T07:17:00-05:00"));
    // What is shown as 15.5 % is 15.5 %.
    let percent = device.asks(&["import", "observations", "percent.xlsx", "--kind", "harvest", "--yes"]).exits(0);
    assert!(percent.stdout.contains("recorded 2 observations"), "{percent:?}");
    let lists = device.lists();
    assert!(lists.contains("\"moisture\":\"15.5\"") && lists.contains("\"moisture\":\"16.5\""), "{lists}");
    // A title above the header, merged or not, is no harm; where the header stands is told. What the workbook hides is read.
    let untold = device.asks(&["import", "observations", "titled.xlsx", "--yes"]).exits(2).stderr;
    assert!(untold.contains("A1:G1 are merged") && untold.contains("`--header-row 3`"), "{untold}");
    let titled = device.asks(&["import", "observations", "titled.xlsx", "--header-row", "3", "--yes", "--dry-run"]);
    assert!(titled.exits(0).stderr.contains("the workbook hides 1 row"));
    let titled = device.asks(&["import", "observations", "titled.xlsx", "--header-row", "3", "--yes"]).exits(0);
    assert!(titled.stdout.contains("3 there already"), "{}", titled.stdout);
}

/// What can be meant in two ways, or looks like a slip, is told; what cannot be is refused.
#[test]
fn what_a_sheet_leaves_open_is_told() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let says = |name: &str, text: &str, code: i32| {
        write(&device, name, text);
        device.asks(&["import", "observations", name, "--dry-run"]).exits(code).stderr
    };
    // Two columns tell one measure: the second is not taken for another one, and the way to turn it round is told.
    let units = "Field,Date,Scout,Row width (in),Row width (cm),Length (ft),Plants\n\
                 north-40,2025-05-28,Imka Voss,30,76,17.5,31\n";
    let said = says("units.csv", units, 0);
    assert!(said.contains("`--column \"Row width (cm)=row_width in cm\"`"), "{said}");
    assert!(said.contains("Imka Voss is new: nobody of that name"), "{said}");
    let round = device.asks(&[
        "import",
        "observations",
        "units.csv",
        "--dry-run",
        "--column",
        "Row width (cm)=row_width in cm",
    ]);
    let round = round.exits(0);
    assert!(round.stdout.contains("76 cm"), "{}", round.stdout);
    // Two of one name that say the same are one; that differ, nobody can tell which is meant.
    let twice = "Field,Date,Row width (in),Length (ft),Plants,Plants\nnorth-40,2025-05-28,30,17.5,31,31\n";
    assert!(says("twice.csv", twice, 0).contains("1 new observation"));
    let said = says("twice.csv", &format!("{twice}north-40,2025-05-29,30,17.5,31,33\n"), 2);
    assert!(said.contains("called `Plants`, and they differ: in line 3 one says `31`, the other `33`"), "{said}");
    // Days before any journal, as `record` has it.
    let plain = |day: &str| format!("Field,Date,Row width (in),Length (ft),Plants\nnorth-40,{day},30,17.5,31\n");
    for day in ["0026-05-28", "1899-12-30"] {
        write(&device, "early.csv", plain(day));
        let (rows, _) = imports(&device, &["early.csv", "--yes"], 2);
        assert!(rows[0]["reason"].as_str().is_some_and(|why| why.contains("from 1970-01-01 on")), "{rows:?}");
        assert_eq!(rows[0]["column"], "Date");
        let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
        let typed = device.asks(&[&count[..], &["--at", day]].concat()).exits(2).stderr;
        assert!(typed.contains("from 1970-01-01 on"), "{typed}");
    }
    // An hour that came twice.
    let said = says("fold.csv", &plain("2025-11-02 01:30"), 0);
    assert!(said.contains("line 2): taken is the first, 2025-11-02T01:30-05:00; the second would be"), "{said}");
    // What separates the cells, told and found.
    for text in [format!("sep=;\r\n{}", plain("2025-05-28").replace(',', ";")), plain("2025-05-28").replace(',', "|")] {
        assert!(says("separated.csv", &text, 0).contains("1 new observation"), "{text}");
    }
    let wrong = format!("sep=;\n{}", plain("?").replace(',', ";"));
    write(&device, "separated.csv", wrong);
    assert_eq!(imports(&device, &["separated.csv", "--yes"], 2).0[0]["line"], 3, "lines are those of the file");
    let said = says("open.csv", &plain("2025-05-28").replace(",31", ",\"31"), 2);
    assert!(said.contains("line 2: a quotation mark opens a cell, and none closes it"), "{said}");
}

#[test]
fn hostile_workbooks_are_refused_and_say_why() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let _ = run_python("sheets.py", [place.folder()]);
    write(&device, "many.csv", format!("field,date\n{}", "a,1\n".repeat((1 << 20) + 1)));
    let bytes = fs::read(place.folder().join("counts.xlsx")).expect("the workbook is there");
    write(&device, "cut.xlsx", &bytes[..bytes.len() / 2]);
    write(&device, "old.xls", [&[0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1][..], &[0; 600]].concat());
    write(&device, "empty.csv", "");
    write(&device, "blank.csv", "\n\n");
    write(&device, "text.xlsx", COUNTS);
    write(&device, "header.csv", "field,date,plants\n");
    write(&device, "utf16.csv", b"\xff\xfef\x00i\x00");
    write(&device, "zeros.csv", [0; 300]);
    write(
        &device,
        "latin.csv",
        b"Field,Date,Scout,Row width (in),Length (ft),Plants\nnorth-40,2025-05-28,Jos\xe9,30,17.5,31\n",
    );
    write(&device, "two-ways.csv", COUNTS.replace("2025-05-28", "5/6/2025"));
    let before = device.holds();
    for (file, why) in [
        ("cut.xlsx", "cannot be read"),
        ("old.xls", "save it as .xlsx"),
        ("several.xlsx", "--sheet NAME"),
        ("serial.xlsx", "--dates serial"),
        ("merged.xlsx", "A2:A3 are merged"),
        ("formula.xlsx", "it is a formula without a value"),
        ("many.csv", "more than 1048576 rows"),
        ("empty.csv", "the file is empty"),
        ("blank.csv", "no row that names its columns"),
        ("text.xlsx", "no workbook by its content"),
        ("header.csv", "no rows below its header"),
        ("utf16.csv", "UTF-16"),
        ("zeros.csv", "no text"),
        ("latin.csv", "--encoding latin-1"),
        ("two-ways.csv", "--dates mdy"),
        ("bomb.xlsx", "inflates to more than 256 MB"),
        ("entities.xlsx", "declares a document type"),
        ("nowhere.csv", "cannot read"),
    ] {
        let said = device.asks(&["import", "observations", file, "--yes", "--kind", "stand-count"]).exits(2).stderr;
        assert!(said.contains(why), "{file}: {said}");
    }
    assert_eq!(device.holds(), before);
    // What was declared is read.
    device.does(&["import", "observations", "latin.csv", "--yes", "--encoding", "latin-1"]);
    assert!(device.lists().contains("\"by\":\"José\""));
    let dmy = ["import", "observations", "two-ways.csv", "--yes", "--dates", "dmy"];
    device.does(&dmy);
    assert!(device.lists().contains("2025-06-05T07:05:00-05:00"));
    let serial = device.asks(&["import", "observations", "serial.xlsx", "--yes", "--dates", "serial", "--keep-good"]);
    assert_eq!(serial.exits(0).stdout, "recorded 2 observations on north-40; 1 rejected\n");
}

#[test]
fn a_spanish_sheet_with_decimal_commas_is_read_when_it_is_said() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let sheet = "\u{feff}Lote;Fecha;Ancho de surco (cm);Largo de surco (m);Plantas\n\
                 north-40;28 de mayo de 2025;76,2;5,31;31\n";
    write(&device, "conteo.csv", sheet);
    let refused = device.asks(&["import", "observations", "conteo.csv", "--yes"]).exits(2).stderr;
    assert!(refused.contains("--decimal comma"), "{refused}");
    device.does(&["import", "observations", "conteo.csv", "--yes", "--decimal", "comma"]);
    let lists = device.lists();
    assert!(lists.contains("\"row_width\":\"30\"") && lists.contains("\"length\":\"17.4213\""), "{lists}");
}

/// On a terminal a person is asked, and only a yes is one.
#[test]
fn a_person_at_a_terminal_is_asked() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    write(&device, "counts.csv", COUNTS);
    let program = std::env::var("LIGULE_PROGRAM").expect("the tests are told where the program is");
    let (journal, sheet) = (device.folder(), place.folder().join("counts.csv"));
    let answers = |answer: &str| {
        let words: [&std::ffi::OsStr; 7] = [
            answer.as_ref(),
            program.as_ref(),
            "--journal".as_ref(),
            journal.as_ref(),
            "import".as_ref(),
            "observations".as_ref(),
            sheet.as_ref(),
        ];
        run_python("answer.py", words)
    };
    for no in ["", "n", "what?"] {
        let said = answers(no);
        assert!(said.contains("3 new observations. Record with this mapping? [y/N]"), "{said}");
        assert!(said.contains("not confirmed") && said.contains("exit code 2"), "{said}");
    }
    assert_eq!(device.lists(), "");
    let said = answers("y");
    assert!(said.contains("recorded 3 observations on north-40") && said.contains("exit code 0"), "{said}");
    // What was confirmed is not asked again.
    assert!(answers("never").contains("3 there already"));
}

/// An import that is killed, at whatever moment, has recorded all rows of all fields or none.
#[test]
fn an_import_that_is_killed_has_done_all_or_nothing() {
    const ROWS: usize = 400;
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let field = "field add creek --grower Voss --region US-IA --zone America/Chicago --crop corn";
    device.does(&field.split(' ').collect::<Vec<_>>());
    let mut held = 0;
    let mut whole = std::time::Duration::ZERO;
    for round in 0..10_u32 {
        let mut text = "field,date,time,row width (in),length (ft),plants\n".to_owned();
        for n in 0..ROWS {
            let (field, hour, minute) = (["north-40", "creek"][n % 2], 6 + n / 60, n % 60);
            writeln!(text, "{field},2025-06-{:02},{hour:02}:{minute:02},30,17.5,31", round + 1).expect("a text grows");
        }
        write(&device, "day.csv", &text);
        let import = ["import", "observations", "day.csv", "--yes"];
        if round == 0 {
            // The first one tells how long it takes.
            let started = std::time::Instant::now();
            device.does(&import);
            whole = started.elapsed();
        } else {
            let mut child = device.starts(&import);
            std::thread::sleep(whole * round / 9);
            child.kill().expect("the process is ours");
            let _ = child.wait();
            let now = device.observations().len();
            assert!(now == held || now == held + ROWS, "{now} of {held} and {ROWS}");
            device.does(&import);
        }
        held += ROWS;
        assert_eq!(device.observations().len(), held);
    }
    device.does(&["journal", "verify"]);
}

/// A sheet of thousands of rows.
fn large(rows: usize) -> String {
    let mut text = "field,date,time,row width (in),length (ft),plants\n".to_owned();
    for n in 0..rows {
        let (day, hour, minute) = (1 + n / 600, 6 + n / 60 % 10, n % 60);
        writeln!(text, "north-40,2025-06-{day:02},{hour:02}:{minute:02},30,17.5,{}", 20 + n % 17)
            .expect("a text grows");
    }
    text
}

/// A sheet of thousands of rows is recorded in several transactions, between which others come through; one that is ended
/// in the middle is gone on with by importing it again, and each row is there once.
#[test]
fn a_large_sheet_that_is_ended_in_the_middle_is_gone_on_with() {
    const ROWS: usize = 5000;
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    write(&device, "large.csv", large(ROWS));
    write(&device, "small.csv", COUNTS);
    let import = ["import", "observations", "large.csv", "--yes"];
    let mut child = device.starts(&import);
    // What is there so far is counted by another process, which is not kept out.
    let there = || device.does(&["list", "--format", "ndjson"]).lines().count();
    let mut before = 0;
    while before == 0 {
        before = there();
        assert!(child.try_wait().expect("the process is ours").is_none() || before > 0, "it ended with nothing done");
    }
    let _ = child.kill();
    let _ = child.wait();
    let before = there();
    println!("{before} of {ROWS} rows were there when it was ended");
    assert!(before > 0 && (before == ROWS || before % 1000 == 0), "{before}: parts are whole");
    if before < ROWS {
        let noted = device.asks(&["import", "observations", "small.csv", "--dry-run"]).exits(0).stderr;
        assert!(noted.contains("the import of large.csv ended in the middle"), "{noted}");
    }
    device.does(&["journal", "verify"]);
    let said = device.does(&import);
    assert!(said.starts_with(&format!("recorded {} observations", ROWS - before)), "{said}");
    assert_eq!(there(), ROWS);
    let (rows, _) = imports(&device, &["large.csv"], 0);
    assert!(rows.len() == ROWS && states(&rows).iter().all(|state| *state == "known"));
    let noted = device.asks(&["import", "observations", "small.csv", "--dry-run"]).exits(0).stderr;
    assert!(!noted.contains("ended in the middle"), "{noted}");
}

/// Rows of a field that was retired are recorded, and it is said.
#[test]
fn rows_of_a_retired_field_are_told() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    device.does(&["field", "retire", "north-40"]);
    write(&device, "counts.csv", COUNTS);
    let said = device.asks(&["import", "observations", "counts.csv", "--yes"]).exits(0);
    assert!(said.stdout.contains("recorded 3") && said.stderr.contains("north-40 is retired"), "{}", said.stderr);
}

/// Who reads Spanish reads the table, what is wrong with rows and what was recorded in it.
#[test]
fn an_import_speaks_spanish() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    device.does(&["crew", "set", "language", "es"]);
    write(&device, "counts.csv", COUNTS);
    let asked = device.asks(&["import", "observations", "counts.csv"]).exits(2).stderr;
    for part in ["columna", "primer valor", "se adivinó de los nombres", "nadie ha confirmado", "repita con `--yes`"] {
        assert!(asked.contains(part), "{part} in {asked}");
    }
    let bad = COUNTS.replace(",27\n", ",27 kg\n").replace("2025-05-28,07:11", "5/6/2025,07:11");
    write(&device, "bad.csv", bad);
    let held = device.asks(&["import", "observations", "bad.csv", "--yes"]).exits(2).stderr;
    for part in ["línea ", ", columna `", "se puede leer de dos maneras", "no se anotó nada", "corrija la planilla"] {
        assert!(held.contains(part), "{part} in {held}");
    }
    for english in ["expected ", "line ", " can be read", "nothing was recorded", "mend "] {
        assert!(!held.contains(english), "{english} in {held}");
    }
    let done = device.asks(&["import", "observations", "counts.csv", "--yes"]).exits(0);
    assert!(done.stdout.starts_with("anotado: ") && done.stdout.contains(" observaciones en "), "{}", done.stdout);
    assert!(done.stderr.contains("la asignación queda guardada como"), "{}", done.stderr);
    let again = device.does(&["import", "observations", "counts.csv", "--dry-run"]);
    assert!(again.contains("línea") && again.contains("estado"), "{again}");
}
