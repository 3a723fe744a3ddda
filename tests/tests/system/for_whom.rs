//! For whom: units and language of the crew, and nobody sent into a field that is closed.

use ligule_testkit::Place;

use crate::device::Device;

fn words(text: &str) -> Vec<&str> {
    text.split(' ').collect()
}

fn field(device: &Device<'_>, name: &str, zone: &str) {
    let add = format!("field add {name} --grower G --region US-IA --zone {zone} --crop corn --row 30in");
    device.does(&words(&add));
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
        assert!(assessed.contains("74,132 plants/ha"), "{assessed}");
        let help = device.does(&words("record stand-count --help"));
        assert!(help.contains("Ancho de surco") && !help.contains("Row width"), "{help}");
        let kind = device.does(&words("kind stand-count"));
        assert!(kind.contains("Conteo de plantas"), "{kind}");
        let here = device.does(&words("assess f1 --as-of 2026-05-28 --unit-system us --language en"));
        assert!(here.contains("30,000 plants/ac"), "{here}");
        assert_eq!(device.does(&words("list f1 --format json")), kept, "programs read what is kept");
    }
    // A bare number means the unit of its kind as before, and the echo tells both.
    let said = b.does(&words("record stand-count f1 --at 2026-05-28T08:00 --length 17.424 --plants 30 --language en"));
    assert!(said.contains("5.31084 m (17.424 ft)") || said.contains("m (17.424 ft)"), "{said}");
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
        assert!(shown.contains("metric units, language es"), "{shown}");
    }
    b.does(&words("crew set units us"));
    b.exchanges_with(&a);
    assert!(a.does(&words("crew show")).contains("us units, language es"));
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
    let today = a.does(&words("record application f3 --day 2026-05-20 --active mesotrione"));
    assert!(today.contains("RE-ENTRY UNKNOWN, ask before walking: mesotrione"), "{today}");
    for asked in ["list f3", "field list"] {
        let said = a.does(&words(asked));
        assert!(said.contains("ask before walking"), "{asked}: {said}");
    }
    // Programs get their rows alone; the person beside them is told.
    let listed = a.asks(&words("list f3 --format ndjson")).exits(0);
    assert!(listed.stderr.contains("ask before walking") && !listed.stdout.contains("ask before walking"));
}
