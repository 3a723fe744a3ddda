//! For whom: units and language of the crew, and nobody sent into a field that is closed.

use std::io::Write;
use std::process::Stdio;

use ligule_testkit::Place;

use crate::device::Device;

fn words(text: &str) -> Vec<&str> {
    text.split(' ').collect()
}

fn field(device: &Device<'_>, name: &str, zone: &str) {
    let add = format!("field add {name} --grower G --region US-IA --zone {zone} --crop corn --row 30in");
    device.does(&words(&add));
}

/// The day so many days ago by a clock in Chicago.
fn day_at_the_field(ago: i64) -> jiff::civil::Date {
    let zone = jiff::tz::TimeZone::get("America/Chicago").expect("a zone");
    let today = jiff::Timestamp::now().to_zoned_datetime(zone).date();
    today.checked_sub(jiff::SignedDuration::from_hours(24 * ago)).expect("a day")
}

/// What one member sets, every device of the crew tells; a call may say otherwise; what programs read stays.
#[test]
fn units_and_language_are_the_crews_and_travel() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    a.invites(&b);
    field(&a, "f1", "America/Chicago");
    let said = a.does(&words("record stand-count f1 --at 2026-05-28T07:00 --length 17.424ft --plants 30"));
    assert!(said.contains("row 30 in") && said.contains("30,000 plants/ac"), "{said}");
    let kept = a.does(&words("list f1 --format json"));
    a.does(&words("crew set units metric"));
    a.does(&words("crew set language es"));
    a.exchanges_with(&b);
    for device in [&a, &b] {
        // 30,000 plants/ac = 74,132 plants/ha; 17.424 ft = 5.31 m; 30 in = 76.2 cm.
        let list = device.does(&words("list f1"));
        assert!(list.contains("Ancho de surco 76.2 cm") && list.contains("Conteo de plantas"), "{list}");
        let assessed = device.does(&words("assess f1 --as-of 2026-05-28"));
        assert!(assessed.contains("74\u{a0}132 plantas/ha"), "{assessed}");
        let help = device.does(&words("record stand-count --help"));
        assert!(help.contains("Ancho de surco") && !help.contains("Row width"), "{help}");
        let kind = device.does(&words("kind stand-count"));
        assert!(kind.contains("Conteo de plantas"), "{kind}");
        let here = device.does(&words("assess f1 --as-of 2026-05-28 --unit-system us --language en"));
        assert!(here.contains("30,000 plants/ac"), "{here}");
        assert_eq!(device.does(&words("list f1 --format json")), kept, "programs read what is kept");
    }
    // A bare number is in the unit that is read, in flags, corrections and fields as in a visit; `--help` names it.
    let help = b.does(&words("record stand-count --help"));
    assert!(help.contains("10.16 a 203.2 cm"), "{help}");
    let said = b.does(&words("record stand-count f1 --at 2026-05-28T08:00 --row 76 --length 5.31 --plants 30"));
    assert!(said.contains("Ancho de surco 76 cm") && said.contains("5.31 m"), "{said}");
    let key = said.split_once(':').and_then(|(key, _)| key.split(' ').nth(1)).expect("a key");
    let said = b.does(&words(&format!("amend {key} --length 5")));
    assert!(said.contains("es ahora 5 m"), "{said}");
    b.does(&words("field amend f1 --row 75 --area 10"));
    let listed = b.does(&words("field list"));
    assert!(listed.contains("superficie") && listed.contains("10.00 ha"), "{listed}");
    let american = "record stand-count f1 --at 2026-05-28T08:20 --row 30 --length 17 --plants 30 --unit-system us";
    assert!(b.does(&words(american)).contains("30 in"));
    let warm = "record application f1 --day 2026-05-28 --active mesotrione --temperature 58 --unit-system us";
    assert!(b.does(&words(warm)).contains("58 °F"));
    let areas = b.does(&words("field list --unit-system us --language en"));
    assert!(areas.contains("24.71 ac"), "{areas}");
    // Ranges are told as they are read, and bushels are not supposed of a metric crew.
    let wide = b.asks(&words("record stand-count f1 --row 300 --length 5 --plants 30")).exits(2);
    assert!(wide.stderr.contains("entre 10.16 y 203.2 cm; se recibió 300"), "{}", wide.stderr);
    let bushels = b.asks(&words("record harvest f1 --day 2026-05-28 --yield 203")).exits(2);
    assert!(bushels.stderr.contains("`--yield 203bu/ac`"), "{}", bushels.stderr);
    let tonnes = b.does(&words("record harvest f1 --day 2026-05-28 --yield 12,77 --basis dry --moisture 15,5%"));
    assert!(tonnes.contains("masa 12.77 t/ha") && tonnes.contains("≈ 12.77 t/ha a la humedad estándar"), "{tonnes}");
    let refused = b.asks(&words("crew set units imperial")).exits(2);
    assert!(refused.stderr.contains("`us` or `metric`"), "{}", refused.stderr);
    let refused = b.asks(&words("crew set language de")).exits(2);
    assert!(refused.stderr.contains("en, es"), "{}", refused.stderr);
}

/// Two members set different things offline: both hold after they met, on both sides alike.
#[test]
fn settings_of_two_devices_merge() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    a.invites(&b);
    a.does(&words("crew set units metric"));
    b.does(&words("crew set language es"));
    a.exchanges_with(&b);
    for device in [&a, &b] {
        let shown = device.does(&words("crew show"));
        assert!(shown.contains("lee en unidades metric, idioma es"), "{shown}");
    }
    b.does(&words("crew set units us"));
    b.exchanges_with(&a);
    assert!(a.does(&words("crew show")).contains("unidades us, idioma es"));
}

/// An open interval stands before every answer that could send somebody into the field, and ends at the field's hour.
#[test]
fn an_open_re_entry_interval_is_told_before_anybody_is_sent() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    for (name, zone) in [("f1", "America/Chicago"), ("f2", "America/Toronto"), ("f3", "America/Chicago")] {
        field(&a, name, zone);
    }
    // Sprayed in the evening by the field's clock; 12 h and 24 h of a mix.
    for (name, active, hours) in [("f1", "mesotrione", "12h"), ("f1", "atrazine", "24h"), ("f2", "mesotrione", "12h")] {
        let spray = format!(
            "record application {name} --day 2026-05-20 --at 2026-05-20T20:00 --active {active} --reentry {hours}"
        );
        a.does(&words(&spray));
    }
    let on = |name: &str, day: &str| a.does(&words(&format!("assess {name} --as-of {day}")));
    let open = on("f1", "2026-05-21");
    let lines: Vec<&str> = open.lines().filter(|line| line.starts_with("re-entry")).collect();
    assert!(lines[0].contains("KEEP OUT until 2026-05-21 20:00 (America/Chicago): atrazine"), "{open}");
    assert!(lines[1].contains("KEEP OUT until 2026-05-21 08:00 (America/Chicago): mesotrione"), "{open}");
    assert!(open.contains("The label is the law"), "{open}");
    assert!(on("f2", "2026-05-21").contains("until 2026-05-21 08:00 (America/Toronto)"));
    assert!(!on("f1", "2026-05-22").contains("re-entry"));
    let advice = a.does(&words("advise f1 --as-of 2026-05-21"));
    assert!(advice.contains("KEEP OUT until 2026-05-21 20:00"), "{advice}");
    a.does(&words("report f1 --as-of 2026-05-21 --out f1.html"));
    let page = std::fs::read_to_string(place.folder().join("f1.html")).expect("a page");
    assert!(page.contains("KEEP OUT until 2026-05-21 20:00"));
    // Just now, with no interval: nobody is told that it is open to walk.
    let today = a.does(&words(&format!("record application f3 --day {} --active mesotrione", day_at_the_field(0))));
    assert!(today.contains("RE-ENTRY UNKNOWN, ask before walking: mesotrione"), "{today}");
    for asked in ["list f3", "field list"] {
        let said = a.does(&words(asked));
        assert!(said.contains("ask before walking"), "{asked}: {said}");
    }
    // Programs get their rows alone; the person beside them is told.
    let listed = a.asks(&words("list f3 --format ndjson")).exits(0);
    assert!(listed.stderr.contains("ask before walking") && !listed.stdout.contains("ask before walking"));
}

/// Types answers to a visit; returns what was said.
fn visits(device: &Device<'_>, arguments: &str, lines: &[&str]) -> String {
    let asked = format!("--journal {} visit {arguments}", device.name());
    let mut program = device.place().command(&words(&asked));
    let program = program.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut visit = program.spawn().expect("`ligule` starts");
    let mut input = visit.stdin.take().expect("it has a pipe");
    for line in lines {
        writeln!(input, "{line}").expect("it reads");
    }
    drop(input);
    let output = visit.wait_with_output().expect("it ends");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[track_caller]
fn says(said: &str, parts: &[&str]) {
    for part in parts {
        assert!(said.contains(part), "`{part}` is missing in:\n{said}");
    }
}

/// A scout who reads Spanish and metres is asked, answers, is told and finds again in Spanish and metres; what is kept and
/// what programs read does not change by it.
#[test]
fn a_scout_reads_spanish_and_metres_all_the_way() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    field(&a, "f1", "America/Chicago");
    a.does(&words("crew set language es"));
    a.does(&words("crew set units metric"));
    let said = a.does(&words(
        "record planting f1 --at 2026-04-28T10:00 --day 2026-04-28 --crop corn --rate 34000/ac --depth 2in",
    ));
    says(&said, &["anotada 0", "Siembra en f1", "Densidad de siembra 84016/ha"]);
    // 76.2 cm are the field's 30 in; a bare 5.31 is 5.31 m since that is what was asked for.
    let said = visits(
        &a,
        "f1 --kinds stand-count,frost-damage",
        &["", "5.31", "29", "listo", "otra", "", "", "31", "listo", "ayuda", "", "", "-2", "salir"],
    );
    says(
        &said,
        &[
            "visita de f1: Conteo de plantas, Daño de helada; `ayuda` explica, `salir` interrumpe y guarda todo",
            "Ancho de surco (10.16 a 203.2 cm) [76.2 cm]: ",
            "Largo de surco (0.31 a 304.8 m): ",
            "29 plantas en 5.31 m a 76.2 cm ≈ 71\u{a0}67",
            "media de 2 hasta ahora",
            "(intervalo de 95 %)",
            "para ± 5 %",
            "Entrar toma lo que está entre corchetes",
            "Temperatura más baja (-30 a 10 °C): ",
            "observaciones anotadas en f1; `ligule visit f1` sigue donde quedó",
        ],
    );
    let kept = a.observations();
    let count = kept.iter().find(|one| one["kind"] == "stand-count").expect("a count");
    assert_eq!(count["values"]["row_width"], "30", "kept in the unit of the kind: {count}");
    let feet: f64 = count["values"]["length"].as_str().expect("a length").parse().expect("a number");
    assert!((feet - 5.31 / 0.3048).abs() < 1e-4, "{feet}");
    for (asked, parts) in [
        ("list f1", &["observación", "lote", "tema", "valores", "Conteo de plantas"][..]),
        ("kind", &["tema", "nombre", "para qué", "Conteo de plantas"]),
        ("kind stand-count", &["Cómo: ", "Se pide de VE a V6.", "obligatoria", "cantidad", "sí"]),
        ("field list", &["lote", "cultivo", "última visita", "maíz"]),
        ("visit list f1", &["visita", "cuándo", "2 Conteo de plantas"]),
        ("conflicts", &["sin conflictos"]),
        ("list --kind harvest", &["sin observaciones"]),
        (
            "assess f1 --as-of 2026-12-31",
            &[
                "f1, maíz 2026, al 2026-12-31",
                "siembra      2026-04-28, hace 247 días, 84\u{a0}016 semillas/ha, surcos a 76.2 cm",
                "población    ",
                "plantas/ha, intervalo de 95 %: ",
                "nota: 2 conteos son pocos",
                "sin evaluar  Este lote no tiene estación de tiempo",
            ],
        ),
    ] {
        says(&a.does(&words(asked)), parts);
    }
    let key = count["observation"].as_str().expect("a key");
    says(&a.does(&words(&format!("history {key}"))), &["medida", "como se escribió", "dispositivo", "Largo de surco"]);
    says(&a.does(&words(&format!("amend {key} --plants 30"))), &["anotado: ", "Plantas es ahora 30"]);
    says(&a.does(&["void", key, "--why", "mal contada"]), &["queda anulada (mal contada)"]);
    says(&a.does(&words("list f1 --voided")), &["anulada: mal contada (a)"]);
    // The same in one call of one who reads English and inches.
    let english = a.does(&words("assess f1 --as-of 2026-12-31 --language en --unit-system us"));
    says(
        &english,
        &["planted      2026-04-28", "34,000 seeds/ac, 30 in rows, set 2 in deep", "note: One count tells nothing"],
    );
    let listed = a.does(&words("list f1 --format csv"));
    assert!(
        listed.starts_with("observation,field,kind,at,by,values,state,place\n"),
        "programs read the names: {listed}"
    );
    // The page is in English, its units are the crew's.
    a.does(&words("report f1 --as-of 2026-12-31 --out f1.html"));
    let page = std::fs::read_to_string(place.folder().join("f1.html")).expect("a page");
    says(&page, &["plants per hectare", "One count tells nothing"]);
    assert!(!page.contains("conteo") && !page.contains("plants per acre"));
}

/// Every kind that comes with the program is assessed, and told in either language.
#[test]
fn every_kind_with_a_sum_is_assessed() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    field(&a, "f1", "America/Chicago");
    for line in [
        "planting f1 --at 2026-04-28T10:00 --day 2026-04-28 --crop corn --rate 34000 --row 30in",
        "plant-spacing f1 --at 2026-05-28T10:00 --row 30in --positions 0,6,12,18,30,32,38",
        "plant-height f1 --at 2026-05-28T10:10 --heights 9,10,8.5",
        "hail-damage f1 --at 2026-06-18T10:00 --event 2026-06-10 --plants 100 --lost 20 --defoliation 50% --adjuster-leaves 13",
        "frost-damage f1 --at 2026-05-14T10:00 --event 2026-05-10 --plants 100 --lost 4",
        "disease f1 --at 2026-07-01T10:00 --organism PUCCSO --plants 20 --affected 9 --severity 5% --leaf-position ear-leaf",
        "yield-estimate f1 --at 2026-08-20T10:00 --ears 35 --kernel-rows 16 --kernels-per-row 36 --kernels-per-bushel 90000",
        "harvest f1 --at 2026-10-07T10:00 --day 2026-10-07 --yield 200 --basis wet --moisture 25.5%",
    ] {
        a.does(&words(&format!("record {line}")));
    }
    // The sums are those of `assess/tests.rs`, where their sources stand.
    says(
        &a.does(&words("assess f1 --as-of 2026-12-31")),
        &[
            "spacing      6 gaps, mean 6.33 in, standard deviation 3.20 in, 6.15 in intended, 17 % doubles, 17 % skips",
            "height       3 plants, mean 9.2 in",
            "hail         of 2026-06-10, 20 of 100 lost, 20.0 %, 50 % of the leaf area lost",
            "costs 28 % of the yield; lost plants 20 %; lost leaf 10 %",
            "frost        of 2026-05-10, 4 of 100 lost, 4.0 %",
            "disease      common rust: 9 affected of 20 plants, severity 5.0 %, highest leaf: ear leaf",
            "estimate     224.0 bu/ac, 1 place",
            "harvest      2026-10-07, 176.3 bu/ac at standard moisture",
        ],
    );
    says(
        &a.does(&words("assess f1 --as-of 2026-12-31 --language es --unit-system metric")),
        &[
            "espaciado ",
            "altura ",
            "granizo ",
            "cuesta 28 % del rendimiento",
            "helada ",
            "enfermedad ",
            "estimación   14.06 t/ha",
            "cosecha ",
        ],
    );
    a.does(&words("report f1 --as-of 2026-12-31 --out f1.html"));
    let page = std::fs::read_to_string(place.folder().join("f1.html")).expect("a page");
    says(&page, &["Spacing of plants", "<h2 id=\"h-", "Hail", "Frost", "Diseases", "Yield estimate", "Harvest"]);
}

/// A result of a worksheet is told in the reader's units too; programs get what the source reckons in.
#[test]
fn sums_without_a_journal_are_told_in_the_readers_units() {
    let place = Place::new();
    let asks = |more: &str| {
        place.ligule(&words(format!("--journal none calc row-length --row 30in {more}").trim_end())).exits(0).stdout
    };
    assert!(asks("").contains("17.42 ft\n"), "{}", asks(""));
    // 17.424 ft × 0.3048 m/ft = 5.31 m.
    assert!(asks("--unit-system metric").contains("17.42 ft (5.31 m)"), "{}", asks("--unit-system metric"));
    assert_eq!(asks("--unit-system metric --format json"), asks("--format json"));
    let a = Device::new(&place, "a");
    a.does(&words("crew set units metric"));
    assert!(a.does(&words("calc row-length --row 30in")).contains("17.42 ft (5.31 m)"), "as the crew reads");
}

/// A sprayed field is told of wherever somebody could be sent from: visit, record, list, the fields at a glance, report.
#[test]
fn an_open_re_entry_interval_is_told_at_every_door() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    field(&a, "f1", "America/Chicago");
    let spray = format!("record application f1 --day {} --active mesotrione --reentry 12h", day_at_the_field(0));
    let told = a.does(&words(&spray));
    says(&told, &["KEEP OUT until"]);
    for asked in ["list f1", "assess f1", "advise f1"] {
        says(&a.does(&words(asked)), &["KEEP OUT until"]);
    }
    says(&a.does(&words("field list")), &["keep out until"]);
    let visit = visits(&a, "f1", &["quit"]);
    let (before, _) = visit.split_once("visit of f1").expect("the visit begins");
    says(before, &["re-entry     KEEP OUT until", "The label is the law"]);
    a.does(&words("report f1 --out f1.html"));
    says(&std::fs::read_to_string(place.folder().join("f1.html")).expect("a page"), &["KEEP OUT until"]);
    let spanish = visits(&a, "f1 --language es", &["salir"]);
    says(&spanish, &["reentrada    NO ENTRAR hasta", "La etiqueta es la ley"]);
}

/// Where the hour is not known, the interval counts from the end of the day that is named, whichever way it came.
#[test]
fn without_an_hour_an_interval_counts_from_the_end_of_the_day() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    for name in ["f1", "f2", "f3"] {
        field(&a, name, "America/Chicago");
    }
    let (today, day) = (day_at_the_field(0), day_at_the_field(1));
    let until = |day: jiff::civil::Date, hours: i64| {
        let zone = jiff::tz::TimeZone::get("America/Chicago").expect("a zone");
        let end = day.tomorrow().expect("a day").to_zoned_datetime(zone).expect("a midnight");
        let until = end.checked_add(jiff::SignedDuration::from_hours(hours)).expect("a time");
        format!("KEEP OUT until {} (America/Chicago)", until.strftime("%Y-%m-%d %H:%M"))
    };
    let counted = format!("sprayed on {day} at an hour that is not known, counted from the end of that day");
    let spray = format!("record application f1 --at {day} --day {day} --active mesotrione --reentry 72h");
    says(&a.does(&words(&spray)), &[&until(day, 72), &counted]);
    says(&visits(&a, "f1", &["quit"]), &[&until(day, 72), &counted]);
    // A correction and a sheet tell it too.
    let key = a.observations()[0]["observation"].as_str().expect("a key").to_owned();
    says(&a.does(&words(&format!("amend {key} --reentry 96h"))), &[&until(day, 96), &counted]);
    let sheet = format!("field,date,day,active ingredient,re-entry interval (h)\nf2,{day},{day},atrazine,48\n");
    std::fs::write(place.folder().join("sprays.csv"), sheet).expect("it can be written");
    let brought = a.asks(&words("import observations sprays.csv --kind application --yes")).exits(0);
    says(&brought.stderr, &["f2:", &until(day, 48), &counted]);
    // A visit does not ask at what hour spraying ended.
    let mut answers = vec![today.to_string(), "atrazine".to_owned()];
    answers.extend(std::iter::repeat_n(String::new(), 9));
    answers.push("24h".to_owned());
    let answers: Vec<&str> = answers.iter().map(String::as_str).collect();
    let spray = format!("record application f3 --at {day} --day {day} --active dicamba --reentry 72h");
    a.does(&words(&spray));
    let said = visits(&a, "f3 --kinds application", &answers);
    let told = |name: &str| said.lines().filter(|line| line.contains("KEEP OUT until") && line.contains(name)).count();
    assert_eq!((told("dicamba"), told("atrazine")), (1, 1), "once in a sitting: {said}");
    says(&said, &[&until(today, 24), &format!("sprayed on {today}")]);
    // Written down long after the day that it names: that day counts, and a time of another day is told.
    let late = "record application f1 --day 2026-05-20 --active dicamba --reentry 24h";
    assert!(!a.does(&words(late)).contains("dicamba, spray"), "it ran out in May");
    says(
        &a.does(&words("assess f1 --as-of 2026-05-21")),
        &["KEEP OUT until 2026-05-22 00:00", "sprayed on 2026-05-20"],
    );
    let apart = a.asks(&words(&format!("{late} --at 2026-05-21T00:30"))).exits(0);
    says(&apart.stderr, &["applied on 2026-05-20, and is dated 2026-05-21"]);
}

/// Who reads Spanish and metres is asked in both and answers in both, and reads what was moved, voided or photographed so.
#[test]
fn a_metric_visit_in_spanish_asks_for_masses_and_takes_spanish_names() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    field(&a, "m1", "America/Chicago");
    field(&a, "m2", "America/Chicago");
    a.does(&words("crew set units metric"));
    a.does(&words("crew set language es"));
    let mut visit = place.command(&["--journal", a.name(), "visit", "m1", "--kinds", "harvest"]);
    let mut visit = visit.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("it starts");
    let day = day_at_the_field(1);
    writeln!(visit.stdin.take().expect("its input"), "{day}\n12\nseco\n\nlisto").expect("it reads");
    let said = visit.wait_with_output().expect("it ends").stdout;
    let said = String::from_utf8(said).expect("UTF-8");
    assert!(!said.contains("bu/ac") && said.contains("Rendimiento, masa (0 a 45 t/ha)"), "{said}");
    assert!(said.contains("Base (seco, como salió)") && said.contains("12 t/ha"), "{said}");
    let listed = a.does(&words("list m1 --format json"));
    assert!(listed.contains("\"basis\": \"dry\""), "{listed}");
    let key = a.observations()[0]["observation"].as_str().expect("a key").to_owned();
    let visit = key.split('-').next().expect("a visit").to_owned();
    a.does(&words(&format!("visit move {visit} m2")));
    let shown = a.does(&words(&format!("visit show {visit}")));
    assert!(shown.contains("movida a m2, visita") && shown.contains("movida a m2 como"), "{shown}");
    let history = a.does(&words(&format!("history {key}")));
    assert!(history.contains("anulada") && history.contains("movida a m2 como"), "{history}");
    let photos = a.does(&words("photo list"));
    assert!(photos.contains("aún no hay fotos"), "{photos}");
    // The program's own word for a kind heads the column of it.
    std::fs::write(place.folder().join("t.csv"), "Lote,Fecha,Tema,Texto\nm1,2026-06-03,Nota,seco\n").expect("a sheet");
    a.does(&words("import observations t.csv --yes"));
    assert!(a.does(&words("list m1 --kind note")).contains("Texto seco"));
}

/// Who weighs in tonnes types and reads tonnes; the journal keeps kilograms to the hectare, the archive too.
#[test]
fn yields_are_typed_and_told_in_tonnes() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    field(&a, "m1", "America/Chicago");
    a.does(&words("field add s1 --grower G --region US-IA --zone America/Chicago --crop soybean"));
    a.does(&words("crew set units metric"));
    // 9.4 t/ha of corn are 149.76 bu/ac: 9,400 / (56 × 0.45359237 / 0.40468564224), worked by hand.
    let at = "--at 2026-08-20T10:00";
    for line in ["--estimate 9.4t/ha", "--estimate-mass 9.4", "--estimate-mass 9400kg/ha"] {
        let said = a.does(&words(&format!("record yield-estimate m1 {at} {line}")));
        assert!(said.contains("estimate-mass 9.4 t/ha"), "{line}: {said}");
    }
    let wrong = a.asks(&words(&format!("record yield-estimate m1 {at} --estimate-mass 9400"))).exits(2).stderr;
    assert!(wrong.contains("between 0 and 45 t/ha, got 9400"), "{wrong}");
    let both = format!("record yield-estimate m1 {at} --estimate 150bu/ac --estimate-mass 9.4");
    assert!(a.asks(&words(&both)).exits(2).stderr.contains("either `--estimate` or `--estimate-mass`"));
    let day = "--as-of 2026-12-31";
    says(
        &a.does(&words(&format!("assess m1 {day}"))),
        &["estimate     9.40 t/ha, 95 % interval 9.40 t/ha to 9.40 t/ha, 3 places"],
    );
    says(&a.does(&words(&format!("assess m1 {day} --unit-system us"))), &["estimate     149.8 bu/ac, "]);
    // Of soybean a bushel is 60 lb: 3.4 t/ha are 50.56 bu/ac.
    a.does(&words(
        "record harvest s1 --at 2026-10-02T18:00 --day 2026-10-02 --yield 3.4t/ha --basis dry --accept-time",
    ));
    let season = format!("assess s1 {day}");
    says(&a.does(&words(&season)), &["3.40 t/ha at standard moisture"]);
    says(&a.does(&words(&format!("{season} --unit-system us"))), &["50.6 bu/ac at standard moisture"]);
    let kept = a.does(&words("list s1 --kind harvest --format csv"));
    assert!(kept.contains("yield_mass 3400"), "{kept}");
    // Replanting: the yields are told in tonnes beside the bushels of the published tables.
    let replant = "calc replant --table illinois --yield 11.3t/ha --price 4.50 --planted 2026-04-25 --stand 18000 --replant-date \
                   2026-05-20 --replant-stand 30000";
    let said = a.does(&words(replant));
    let line = said.lines().find(|line| line.starts_with("yield of the stand kept")).expect("a result");
    let told = |unit: &str| -> f64 {
        let before = line.split(unit).next().expect("a part");
        before.rsplit([' ', '(']).find(|word| !word.is_empty()).expect("a number").parse().expect("a number")
    };
    assert!((told(" t/ha") - told(" bu/ac") * 0.062_767_7).abs() < 0.006, "{line}");
    let american = a.does(&words(&format!("{replant} --unit-system us")));
    assert!(!american.contains("t/ha"), "{american}");
}
