//! Laws of importing, over sheets made at random.

use proptest::prelude::*;
use tempfile::TempDir;

use super::*;
use crate::fields::NewField;
use crate::recording::ListFilter;

/// A journal with two fields, and sheets beside it.
struct Place {
    folder: TempDir,
    engine: Engine,
}

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder can be made");
        let mut engine = Engine::init(&folder.path().join("journal"), "Imke Voss", "Sorrel Creek").expect("a journal");
        for name in ["north-40", "creek"] {
            let field = NewField {
                name: name.to_owned(),
                grower: "Sorrel Creek".to_owned(),
                region: "US-IA".to_owned(),
                zone: "America/Chicago".to_owned(),
                crop: Some("corn".to_owned()),
                ..NewField::default()
            };
            engine.add_field(field).expect("a field");
        }
        Self { folder, engine }
    }

    fn table(&self, text: &str) -> Result<Table> {
        let file = self.folder.path().join("sheet.csv");
        std::fs::write(&file, text).expect("a file can be written");
        Table::read(&file, &Reading::default(), &|_| {})
    }

    fn plan(&self, text: &str, further: Further) -> Result<Plan> {
        let table = self.table(text)?;
        let wanted = Wanted { kind: Some("stand-count".to_owned()), ..Wanted::default() };
        let mapping = self.engine.propose_mapping(&table, &wanted)?.mapping;
        self.engine.plan_import(table, &mapping, &Told::default(), false, further)
    }

    fn import(&mut self, text: &str) -> [usize; 4] {
        let plan = self.plan(text, Further::New).expect("a plan");
        let recorded = self.engine.import_planned(&plan).expect("it is recorded");
        assert_eq!(recorded, plan.new);
        [plan.new, plan.known, plan.differing, plan.rejected]
    }

    fn keys(&self) -> Vec<String> {
        let lines = self.engine.list(&ListFilter { voided: true, ..ListFilter::default() }).expect("a list");
        lines.into_iter().map(|line| line.observation).collect()
    }
}

const HEADER: &str = "field,date,time,person,row width (in),length (ft),plants\n";

/// A row of a sheet: few different ones, so that many are alike.
fn row() -> impl Strategy<Value = String> {
    let time = prop_oneof![Just(""), Just("07:05"), Just("7:11 PM")];
    let person = prop_oneof![Just(""), Just("Tomas Reyes")];
    (prop_oneof![Just("north-40"), Just("creek")], 27..29u8, time, person, 29..32u8).prop_map(
        |(field, day, time, person, plants)| format!("{field},2025-05-{day},{time},{person},30,17.5,{plants}"),
    )
}

fn sheet(rows: &[String]) -> String {
    format!("{HEADER}{}\n", rows.join("\n"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn a_sheet_that_comes_again_adds_nothing(rows in proptest::collection::vec(row(), 1..12)) {
        let mut place = Place::new();
        let text = sheet(&rows);
        prop_assert_eq!(place.import(&text), [rows.len(), 0, 0, 0]);
        let keys = place.keys();
        prop_assert_eq!(place.import(&text), [0, rows.len(), 0, 0]);
        prop_assert_eq!(place.keys(), keys);
    }

    #[test]
    fn the_order_and_the_parts_of_a_sheet_do_not_matter(
        rows in proptest::collection::vec(row(), 2..12).prop_shuffle(),
        cut in 1..11usize,
    ) {
        let mut whole = Place::new();
        whole.import(&sheet(&rows));
        // The same journal, so that the fields have the same identifiers, but rows in another order.
        let mut again = rows.clone();
        again.reverse();
        prop_assert_eq!(whole.import(&sheet(&again)), [0, rows.len(), 0, 0]);
        let part = &rows[..cut.min(rows.len())];
        prop_assert_eq!(whole.import(&sheet(part)), [0, part.len(), 0, 0]);
    }

    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,200}", bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let place = Place::new();
        let _ = place.plan(&format!("{HEADER}{text}"), Further::New);
        let _ = place.plan(&text, Further::New);
        for start in [&b"PK\x03\x04"[..], b"", HEADER.as_bytes()] {
            let file = place.folder.path().join("odd");
            std::fs::write(&file, [start, &bytes].concat()).expect("a file can be written");
            let _ = Table::read(&file, &Reading::default(), &|_| {});
        }
    }

    #[test]
    fn a_mapping_is_kept_as_it_is(columns in proptest::collection::vec(("\\PC{0,20}", 0..Role::WORDS.len()), 1..8)) {
        let columns = columns.iter().map(|(header, role)| {
            let is = Role::WORDS[*role].0;
            let measure = matches!(is, Role::Measure | Role::UnitOf).then(|| "row_width".to_owned());
            Column { unit: (is == Role::Measure).then(|| "cm".to_owned()), measure, ..Column::of(header, is) }
        });
        let mapping = Mapping { columns: columns.collect(), dates: Some(DateOrder::Dmy), ..Mapping::blank(&[], None) };
        let text = mapping::written(&mapping).expect("it can be written");
        prop_assert_eq!(mapping::parse(&text).expect("it can be read"), mapping);
    }
}

#[test]
fn a_changed_row_is_told_and_changes_nothing() {
    let mut place = Place::new();
    let row = |plants| format!("north-40,2025-05-28,07:05,,30,17.5,{plants}");
    place.import(&sheet(&[row(31), "creek,2025-05-28,,,30,17.5,29".to_owned()]));
    let keys = place.keys();
    let text = sheet(&[row(33)]);
    let plan = place.plan(&text, Further::New).expect("a plan");
    assert_eq!([plan.new, plan.known, plan.differing, plan.rejected], [0, 0, 1, 0]);
    let line = &plan.lines[0];
    assert_eq!(line.reason, "the sheet says plants 33, the journal 31");
    let key = line.observation.clone().expect("the observation is told");
    assert_eq!(
        line.hint.as_deref(),
        Some(format!(
            "to correct it: `ligule amend {key} --plants 33`; if it is another sample: `--further`, and where others of \
             this sheet say the same as what is there, `--further=all`"
        ).as_str())
    );
    assert_eq!(place.import(&text), [0, 0, 1, 0]);
    assert_eq!(place.keys(), keys);
    // Corrected as the hint says, both sheets are there already.
    place.engine.amend(&key, &[("plants".to_owned(), "33".to_owned())], false).expect("it is corrected");
    assert_eq!(place.import(&text), [0, 1, 0, 0]);
    assert_eq!(place.import(&sheet(&[row(31)])), [0, 1, 0, 0]);
    // A void stays one.
    place.engine.void(&key, "wrong field").expect("it is void");
    assert_eq!(place.import(&sheet(&[row(31)])), [0, 1, 0, 0]);
    assert_eq!(place.keys(), keys);
}

#[test]
fn another_sample_is_recorded_when_it_is_said() {
    let mut place = Place::new();
    let row = |plants| sheet(&[format!("north-40,2025-05-28,,,30,17.5,{plants}")]);
    place.import(&row(31));
    let plan = place.plan(&row(27), Further::Differing).expect("a plan");
    assert_eq!(place.engine.import_planned(&plan).expect("it is recorded"), 1);
    assert_eq!(place.import(&row(27)), [0, 1, 0, 0]);
}

/// Two people counted the same number, each in a sheet of their own.
#[test]
fn an_equal_sample_of_another_sheet_is_recorded_once_when_it_is_said() {
    let mut place = Place::new();
    let rows = |plants: &[u8]| {
        let row = |n: &u8| format!("north-40,2025-05-28,,,30,17.5,{n}");
        sheet(&plants.iter().map(row).collect::<Vec<_>>())
    };
    place.import(&rows(&[31, 29]));
    let of = |place: &mut Place, name: &str, plants: &[u8]| {
        let mut table = place.table(&rows(plants)).expect("a sheet");
        table.name = name.to_owned();
        let wanted = Wanted { kind: Some("stand-count".to_owned()), ..Wanted::default() };
        let mapping = place.engine.propose_mapping(&table, &wanted).expect("a guess").mapping;
        let plan = place.engine.plan_import(table, &mapping, &Told::default(), false, Further::All).expect("a plan");
        place.engine.import_planned(&plan).expect("it is recorded")
    };
    assert_eq!(of(&mut place, "noon.csv", &[31, 27]), 2);
    assert_eq!(of(&mut place, "noon.csv", &[31, 27]), 0, "it is there");
    assert_eq!(of(&mut place, "noon.csv", &[31, 31, 27]), 1, "the sheet grew");
    assert_eq!(of(&mut place, "dusk.csv", &[31]), 1);
    assert_eq!(place.keys().len(), 6);
    // Without the word all are there already.
    assert_eq!(place.import(&rows(&[31, 31, 31, 27])), [0, 4, 0, 0]);
}

#[test]
fn what_was_typed_at_the_same_minute_is_there_already() {
    let mut place = Place::new();
    let value = |name: &str, text: &str| (name.to_owned(), text.to_owned());
    let entry = crate::Entry {
        kind: "stand-count".to_owned(),
        field: "north-40".to_owned(),
        values: vec![value("row", "30in"), value("length", "17ft6in"), value("plants", "31")],
        at: Some("2025-05-28T07:05".to_owned()),
        ..crate::Entry::default()
    };
    place.engine.record(&[entry], false).expect("it is recorded");
    assert_eq!(place.import(&sheet(&["north-40,2025-05-28,07:05,,30,17.5,31".to_owned()])), [0, 1, 0, 0]);
    // Without a time of day nobody can tell.
    assert_eq!(place.import(&sheet(&["north-40,2025-05-28,,,30,17.5,31".to_owned()])), [1, 0, 0, 0]);
}

#[test]
fn what_is_wrong_is_told_by_line_and_column() {
    let place = Place::new();
    let rows = [
        "north-40,2025-05-28,07:05,,30,17.5,31",
        "north-41,2025-05-28,,,30,17.5,31",
        "north-40,2025-13-28,,,30,17.5,31",
        "north-40,2025-05-28,,,300,17.5,31",
        "north-40,2025-05-28,,,30,17.5,lots",
        "north-40,2025-05-28,,,30,\"17,5\",31",
        "north-40,2025-05-28,,,30,17.5",
        "north-40,2025-05-28,25:00,,30,17.5,31",
        "north-40,2199-05-28,,,30,17.5,31",
        "north-40,2025-05-28,,,30,17.5,",
        ",2025-05-28,,,30,17.5,=1+1",
    ];
    let plan = place.plan(&format!("{HEADER}{}\n", rows.join("\n")), Further::New).expect("a plan");
    assert_eq!([plan.new, plan.rejected], [1, 10]);
    let told: Vec<(u64, &str)> = plan
        .lines
        .iter()
        .filter(|line| line.state == State::Rejected)
        .map(|line| (line.line, line.column.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            (3, "field"),
            (4, "date"),
            (5, "row width (in)"),
            (6, "plants"),
            (7, "length (ft)"),
            (8, ""),
            (9, "time"),
            (10, "date"),
            (11, ""),
            (12, "field"),
            (12, "plants"),
        ]
    );
}

#[test]
fn a_long_sheet_is_put_together() {
    let mut place = Place::new();
    let text = "field,kind,date,sample,measure,value,unit\n\
                north-40,stand-count,2025-05-28,1,Ancho de surco,30,in\n\
                north-40,stand-count,2025-05-28,1,length,5.3,m\n\
                north-40,stand-count,2025-05-28,2,plants,29,\n\
                north-40,stand-count,2025-05-28,1,plants,31,\n\
                north-40,stand-count,2025-05-28,2,row,76,cm\n\
                north-40,stand-count,2025-05-28,2,length_ft,17.5,\n";
    let table = place.table(text).expect("a sheet");
    let mapping = place.engine.propose_mapping(&table, &Wanted::default()).expect("a guess").mapping;
    let plan =
        place.engine.plan_import(table.clone(), &mapping, &Told::default(), false, Further::New).expect("a plan");
    assert_eq!(plan.lines.iter().map(|line| line.reason.as_str()).collect::<String>(), "");
    assert_eq!(place.engine.import_planned(&plan).expect("it is recorded"), 2);
    assert_eq!(place.engine.list(&ListFilter::default()).expect("a list").len(), 2);
}

#[test]
fn the_unit_of_a_long_sheet_tells_which_yield_is_meant() {
    let mut place = Place::new();
    let text = "field,kind,date,measure,value,unit\n\
                north-40,harvest,2025-10-07,Rendimiento,12,t/ha\n\
                creek,harvest,2025-10-07,yield,200,bu/ac\n";
    let table = place.table(text).expect("a sheet");
    let mapping = place.engine.propose_mapping(&table, &Wanted::default()).expect("a guess").mapping;
    let plan = place.engine.plan_import(table, &mapping, &Told::default(), false, Further::New).expect("a plan");
    assert_eq!(plan.lines.iter().map(|line| line.reason.as_str()).collect::<String>(), "");
    assert_eq!(place.engine.import_planned(&plan).expect("it is recorded"), 2);
    let values: Vec<String> =
        place.engine.list(&ListFilter::default()).expect("a list").iter().map(|line| line.values_text()).collect();
    assert_eq!(values, ["day 2025-10-07, yield 200", "day 2025-10-07, yield_mass 12000"]);
}

#[test]
fn dates_in_two_orders_are_told_by_line() {
    let place = Place::new();
    let row = |day: &str| format!("north-40,{day},,,30,17.5,31");
    let error = place.plan(&sheet(&[row("5/28/2025"), row("5/6/2025"), row("28/5/2025")]), Further::New);
    let error = error.err().expect("nobody knows the order");
    assert!(error.message.contains("not in one order: line 2: `5/28/2025` and line 4: `28/5/2025`"), "{error}");
}

#[test]
fn too_many_rows_are_refused_before_they_fill_the_memory() {
    let place = Place::new();
    let mut text = HEADER.to_owned();
    for _ in 0..=table::MOST_ROWS {
        text.push_str("north-40,2025-05-28,,,30,17.5,31\n");
    }
    let error = place.table(&text).expect_err("too many rows");
    assert!(error.message.contains("more than 1048576 rows"), "{error}");
    let long = "x,\n".repeat(50_000);
    let error = place.table(&format!("{HEADER}\"north-40,{long}\",2025-05-28")).expect("read").rows;
    assert!(matches!(&error[0].cells[0], Cell::Wrong(_, why) if why.contains("quotation mark")));
    let error = place.table(&format!("{HEADER}\"north-40,{long}")).expect_err("it is not closed");
    assert!(error.message.contains("line 2: a quotation mark opens a cell"), "{error}");
}

/// A mapping that a device keeps is read by every later version.
#[test]
fn the_exemplar_of_a_mapping_says_what_it_said_when_it_was_made() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/exemplars/mapping-1.toml");
    let text = std::fs::read_to_string(path).expect("the exemplar is there");
    let mapping = mapping::parse(&text).expect("a mapping");
    mapping
        .check(&ligule_observation::kinds::KindSet::builtin(), &[], &crate::Reading::default())
        .expect("it fits its kind");
    assert_eq!((mapping.dates, mapping.decimal), (Some(DateOrder::Dmy), Some(DecimalMark::Comma)));
    let meanings: Vec<String> = mapping.columns.iter().map(Column::meaning).collect();
    assert_eq!(meanings, ["field", "day", "row_width in cm", "length", "unit-of length", "plants", "nothing"]);
    assert_eq!(mapping::written(&mapping).expect("it can be written"), text);
}

#[test]
fn of_several_mappings_for_the_same_columns_one_is_chosen() {
    let place = Place::new();
    let table = place.table(&sheet(&["north-40,2025-05-28,,,30,17.5,31".to_owned()])).expect("a sheet");
    let mapping = place.engine.propose_mapping(&table, &Wanted::default()).expect("a guess").mapping;
    assert_eq!(place.engine.keep_mapping(None, &mapping).expect("it is kept"), "stand-count");
    assert_eq!(place.engine.keep_mapping(None, &mapping).expect("it is kept"), "stand-count");
    let proposal = place.engine.propose_mapping(&table, &Wanted::default()).expect("it is found");
    assert_eq!((proposal.origin, proposal.changed), (Origin::Kept("stand-count".to_owned()), false));
    place.engine.keep_mapping(Some("spring"), &mapping).expect("it is kept");
    let error = place.engine.propose_mapping(&table, &Wanted::default()).expect_err("two fit");
    assert!(error.message.contains("`spring`, `stand-count`"), "{error}");
    let wanted = Wanted { mapping: Some("spring".to_owned()), ..Wanted::default() };
    let proposal = place.engine.propose_mapping(&table, &wanted).expect("it is chosen");
    assert_eq!(proposal.origin, Origin::Kept("spring".to_owned()));
    for name in ["../x", "A", ""] {
        assert!(place.engine.keep_mapping(Some(name), &mapping).is_err(), "{name}");
    }
}
