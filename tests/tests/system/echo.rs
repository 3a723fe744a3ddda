//! What is told as an observation is recorded: the sums are held to numbers reckoned apart from the program.

use ligule_testkit::Place;

use crate::device::{Device, Waiting};

#[track_caller]
fn tells(device: &Device<'_>, words: &[&str], expected: &str) {
    let said = device.does(&[&["record", words[0], "north-40"], &words[1..]].concat());
    assert!(said.contains(expected), "`{expected}` is missing in:\n{said}");
}

#[test]
fn each_kind_with_a_sum_tells_it() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    // The stage that half of the plants have reached: 12 of 20 have 4 collars (Abendroth et al. 2011, Iowa State University PMR 1009).
    tells(&imke, &["leaf-stage", "--collars", "3:8 4:12"], "field at V4 by 20 plants, V3 to V4");
    // Gaps 6.25 6.25 6.5 13 6.5 1.25: sum of squares about 6.625 is 69.84, / 5, root 3.737. Losses: none (Ontario, Wisconsin) to
    // 4 bu for each inch above 2 (Site-Specific Management Guideline 37): 6.95.
    tells(
        &imke,
        &["plant-spacing", "--positions", "0, 6 1/4, 12 1/2, 19, 32, 38 1/2, 39 3/4", "--intended", "6.5in"],
        "6 gaps, mean 6.62 in, standard deviation 3.74 in, 17 % doubles, 17 % skips; the studies find a loss of 0.0 bu/ac to 6.9 bu/ac",
    );
    // Three-quarters of an inch from crown to surface are added (what `ligule assess` names as its source): 2, 1.875, 3.
    tells(
        &imke,
        &["seed-depth", "--seed-to-crown", "1 1/4, 1 1/8, 2 1/4", "--set-depth", "2in"],
        "3 seeds so far, mean depth 2.29 in, 1.88 in to 3.00 in; 33 % more than 0.25 in off 2.00 in, 33 % more than 0.50 in",
    );
    // Wilson (1927), z = 1.96: (p + z²/2n ± z √(p(1−p)/n + z²/4n²)) / (1 + z²/n), worked by hand.
    tells(
        &imke,
        &["pest-count", "--organism", "AGROYP", "--plants", "100", "--cut", "3"],
        "black cutworm so far: 3 of 100 cut, 3.0 % (95 % interval 1.0 to 8.5 %)",
    );
    tells(
        &imke,
        &["disease", "--organism", "PHYRMA", "--plants", "20", "--affected", "9"],
        "9 of 20 affected, 45.0 % (95 % interval 25.8 to 65.8 %)",
    );
    tells(&imke, &["plant-height", "--heights", "9, 10, 8 1/2"], "3 plants, mean 9.2 in");
}

fn words(line: &str) -> Vec<String> {
    shlex::split(line).expect("well quoted")
}

fn asks(device: &Device<'_>, line: &str) -> ligule_testkit::Answer {
    let words = words(line);
    device.asks(&words.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Values that are given several times are so many samples of one visit; the mean is told once, behind the last.
#[test]
fn several_counts_are_recorded_in_one_go() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let said = asks(
        &imke,
        "record stand-count north-40 --row 30in --length 17ft5in --plants 31 --plants 27 --plants 29 --plants 30",
    )
    .exits(0)
    .stdout;
    assert_eq!(said.matches("recorded 0").count(), 4, "{said}");
    // 17.4167 ft × 2.5 ft are 43.54175 sq ft of the 43,560 of an acre. Mean 29.25, sample SD 1.70783, and t at 97.5 % for 3 degrees
    // of freedom 3.18245: 1.70783 / √4 × 3.18245 = 2.71753 plants, each 1,000.42 an acre.
    assert!(said.trim_end().ends_with("mean of 4 so far 29,262 ± 2,719 (95 % interval)"), "{said}");
    assert_eq!(said.matches("mean of").count(), 1, "{said}");
    assert!(said.contains("31 plants in 17.42 ft at 30 in ≈ 31,013 plants/ac"), "{said}");
    let listed = imke.observations();
    let visit =
        |n: usize| listed[n]["observation"].as_str().expect("a key").split('-').next().expect("a visit").to_owned();
    assert!((1..4).all(|n| visit(n) == visit(0)), "one visit: {listed:?}");

    // Each its own time and place, what is said once holds for all; programs read each.
    let more = "record stand-count north-40 --format json --row 30in --length 17ft5in --plants 28 --plants 26 --row-unit 3 --row-unit 4 \
                --at 2026-05-28T07:05 --at 2026-05-28T07:11 --near 42.03,-93.62 --near 42.031,-93.62 --by Ruben";
    let recorded: serde_json::Value = serde_json::from_str(&asks(&imke, more).exits(0).stdout).expect("JSON");
    assert_eq!(recorded.as_array().map(Vec::len), Some(2), "{recorded}");
    let listed = imke.lists();
    let of = |unit: &str, at: &str| {
        listed.lines().any(|line| line.contains(unit) && line.contains(at) && line.contains("Ruben"))
    };
    assert!(of("\"row_unit\":\"3\"", "2026-05-28T07:05") && of("\"row_unit\":\"4\"", "2026-05-28T07:11"), "{listed}");

    let before = imke.holds();
    let refused = asks(
        &imke,
        "record stand-count north-40 --row 30in --length 17ft --length 18ft --plants 31 --plants 27 --plants 29",
    );
    let refused = refused.exits(2).stderr;
    assert!(refused.contains("`--plants` was given 3 times, `--length` 2 times"), "{refused}");
    // One that does not hold, and nothing is recorded.
    asks(&imke, "record stand-count north-40 --row 30in --length 17ft5in --plants 31 --plants many").exits(2);
    assert_eq!(imke.holds(), before);
}

/// A field with an open re-entry interval is told of by every record on it, once; so is a name that nobody bears, and lines
/// that were recorded before.
#[test]
fn what_should_make_a_person_stop_is_told_with_the_record() {
    let place = Place::new();
    let imke = Device::with_field(&place, "Imke Voss");
    imke.does(&["field", "add", "south-12", "--grower", "G", "--region", "US-IA", "--zone", "America/Chicago"]);
    let count = |field: &str, more: &str| {
        asks(&imke, &format!("record stand-count {field} --row 30in --length 17ft5in --plants 31 {more}")).exits(0)
    };
    assert!(!count("north-40", "").stdout.contains("KEEP OUT"), "nothing was sprayed");
    // Two loads of one tank: what is to be told of both is the same.
    let spray = "record application north-40 --day 2026-05-20 --active mesotrione --reentry 2400h";
    let day = jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date().yesterday().expect("a day");
    let spray = spray.replace("2026-05-20", &day.to_string());
    let said = asks(&imke, &format!("{spray} --and {}", spray.split_once("north-40 ").expect("a field").1)).exits(0);
    assert_eq!(said.stdout.matches("KEEP OUT until").count(), 1, "{}", said.stdout);
    let said = count("north-40", "").stdout;
    assert_eq!(said.matches("  KEEP OUT until").count(), 1, "{said}");
    assert!(!count("south-12", "").stdout.contains("KEEP OUT"), "another field");
    let spanish = count("north-40", "--language es").stdout;
    assert_eq!(spanish.matches("  NO ENTRAR hasta").count(), 1, "{spanish}");
    // A line of a file is as it is typed, `--and` too; each field is told of once.
    let lines = "note north-40 --at 2026-05-28T07:05 --text a --and --text b\nnote south-12 --at 2026-05-28 --text c\n";
    std::fs::write(place.folder().join("lines.txt"), lines).expect("it can be written");
    let first = asks(&imke, "record --lines lines.txt").exits(0);
    assert_eq!(first.stdout.matches("recorded 0").count(), 3, "{}", first.stdout);
    assert_eq!(first.stdout.matches("  north-40: KEEP OUT until").count(), 1, "{}", first.stdout);
    assert_eq!(first.stderr, "", "they are new");
    let again = asks(&imke, "record --lines lines.txt").exits(0);
    assert_eq!(again.stdout.matches("recorded 0").count(), 3, "{}", again.stdout);
    assert!(again.stderr.contains("note: 3 observations say what was there already"), "{}", again.stderr);
    // The line that it names takes the second of them out.
    let void = again.stderr.split('`').nth(1).expect("a command").strip_prefix("ligule ").expect("of this program");
    asks(&imke, void).exits(0);
    let one = asks(&imke, "record note north-40 --at 2026-05-28T07:05 --text b").exits(0).stderr;
    assert!(one.contains("said already, of the same time and person"), "{one}");
    assert_eq!(asks(&imke, "record note north-40 --at 2026-05-28T07:05 --text d").exits(0).stderr, "");
    assert_eq!(asks(&imke, "record note north-40 --text b").exits(0).stderr, "", "it is another time");
    // Whoever is new may be misspelt.
    let near = count("north-40", "--by 'Imke Vos'").stderr;
    assert!(near.contains("Imke Vos is new") && near.contains("`--by \"Imke Voss\"`"), "{near}");
    let new = count("north-40", "--by Ruben").stderr;
    assert!(new.starts_with("note: Ruben is new: nobody of that name") && !new.contains("--by"), "{new}");
    assert_eq!(count("north-40", "--by Ruben").stderr, "", "he has recorded by now");
    assert_eq!(count("north-40", "--by 'Imke Voss'").stderr, "");
    // A visit says so, too, before anything is asked.
    let visit = asks(&imke, "visit north-40 --by Ruban");
    let (said, asked) = visit.stdout.split_once("visit of north-40").expect("it begins");
    assert!(said.contains("Ruban is new") && !asked.contains("is new"), "{}", visit.stdout);
}

/// Rates are told to the hectare as they were typed, though they are kept to the acre.
#[test]
fn a_rate_to_the_hectare_is_told_as_it_was_typed() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.does(&["crew", "set", "units", "metric"]);
    for (rate, told) in [("34000", "34,000"), ("84000", "84,000"), ("84000/ha", "84,000"), ("34000/ac", "84,016")] {
        let day = format!("record planting north-40 --at 2026-04-28T16:30 --day 2026-04-28 --crop corn --rate {rate}");
        let said = asks(&imke, &day).exits(0).stdout;
        let assessed = asks(&imke, "assess north-40 --as-of 2026-05-28").exits(0).stdout;
        assert!(assessed.contains(&format!("{told} seeds/ha")), "{rate}: {assessed}");
        let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
        imke.does(&["void", key, "--why", "tried out"]);
    }
}

/// Behind `--and` stands another observation of the same field, time and person.
#[test]
fn observations_of_several_kinds_are_recorded_in_one_go() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let line = "record leaf-stage north-40 --collars 3:8,4:12 --at 2026-05-28T07:05 --by Ruben --and stand-count --row 30in --length \
                17ft5in --plants 31 --plants 29 --and --plants 27 --row 30in --length 17ft5in --at 2026-05-28T07:20 --and note --text \
                'gate open'";
    let said = asks(&imke, line).exits(0).stdout;
    assert_eq!(said.matches("recorded 0").count(), 5, "{said}");
    assert!(said.contains("field at V4 by 20 plants") && said.contains("mean of 3 so far"), "{said}");
    let listed = imke.observations();
    let told: Vec<String> =
        listed.iter().map(|one| format!("{} {} {}", one["kind"], one["at"], one["by"]).replace('"', "")).collect();
    assert_eq!(
        told,
        [
            "leaf-stage 2026-05-28T07:05:00-05:00 Ruben",
            "stand-count 2026-05-28T07:05:00-05:00 Ruben",
            "stand-count 2026-05-28T07:05:00-05:00 Ruben",
            "stand-count 2026-05-28T07:20:00-05:00 Ruben",
            "note 2026-05-28T07:20:00-05:00 Ruben",
        ]
    );
    let before = imke.holds();
    for (line, told) in [
        (
            "record note north-40 --text a --and leaf-stage --collars x",
            "`leaf-stage north-40 --collars x`: `--collars`",
        ),
        ("record note north-40 --text a --and lef-stage --collars 4", "leaf-stage"),
        ("record note north-40 --text a --and note south-12 --text b", "there is no field `south-12`"),
        ("record note north-40 --text a --and note --text b --format json", "--format"),
        // It would be of the last alone, and make a visit of its own.
        ("record note north-40 --text a --and note --text b --by Ruben", "write it before the first `--and`"),
        ("record note north-40 --text a --and note --text b --at 2026-05-28", "write it before the first `--and`"),
    ] {
        let refused = asks(&imke, line).exits(2).stderr;
        assert!(refused.contains(told), "{line}: {refused}");
    }
    assert_eq!(imke.holds(), before);
}

/// Parts of yield, harvests, traps and small animals are told as what they make; so is what a correction leaves.
#[test]
fn parts_are_told_as_what_they_make() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    // 16 × 31 and 14 × 33 kernels are 479 an ear; 30 × 479 ÷ 90 = 159.67.
    let ears = ["yield-estimate", "--ears", "30", "--kernel-rows", "16 14", "--kernels-per-row", "31 33"];
    tells(
        &imke,
        &[&ears[..], &["--kernels-per-bushel", "90000"]].concat(),
        "30 ears on 1/1000 acre × 479.0 kernels an ear ÷ 90,000 kernels a bushel ≈ 159.7 bu/ac",
    );
    tells(&imke, &ears, "kernels to the bushel were not given: ");
    tells(&imke, &ears, "; mean of 3 so far ");
    // 210 bu at 20 % water are 210 × 80 ÷ 84.5 at 15.5 %.
    let harvest = ["harvest", "--day", "2026-10-02", "--at", "2026-10-02", "--yield", "210", "--moisture", "20%"];
    tells(&imke, &[&harvest[..], &["--basis", "wet"]].concat(), "\n  ≈ 198.8 bu/ac at standard moisture\n");
    tells(&imke, &harvest, "≈ 210.0 bu/ac as told. Whether the yield is told dry");
    let pests = ["pest-count", "--organism"];
    let aphids = ["soybean aphid", "--plants", "20", "--counted", "5000"];
    tells(&imke, &[&pests[..], &aphids].concat(), "\n  counted: 5000, mean 250.0 a plant\n");
    tells(&imke, &[&pests[..], &["AGROYP", "--plants", "250", "--cut", "9"]].concat(), "9 of 250 cut");
    // What was found on plants is nothing of the trap's.
    let trap = ["AGROYP", "--moths", "12", "--nights", "7"];
    tells(&imke, &[&pests[..], &trap].concat(), "\n  moths: 12, mean 1.7 a night\n");
    let key = imke.counts(20, 31);
    // 28 on 43.54175 of 43,560 square feet.
    assert!(imke.does(&["amend", &key, "--plants", "28"]).contains("≈ 28,012 plants/ac"));
}

/// What is written once for all of a list, what is told twice of one plant or field, and names that several have.
#[test]
fn what_can_be_read_in_two_ways_is_told_or_asked_back() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    tells(
        &imke,
        &["plant-height", "--heights", "23, 25, 22cm"],
        "heights 9.06 9.84 8.66 in (3 values) (`23cm, 25cm, 22cm`)",
    );
    tells(&imke, &["plant-spacing", "--positions", "0 16 32 48 66 cm"], "positions 0 6.299 12.598 18.898 25.984 in");
    let both = ["seed-depth", "--seed-to-crown", "1.25 1.125", "--seed-to-surface", "2 1.875"];
    tells(&imke, &both, "2 seeds so far, mean depth 1.94 in, 1.88 in to 2.00 in; of each plant seed to surface counts");
    tells(&imke, &["seed-depth", "--seed-to-crown", "1.25"], "; 0.75 in are added to each seed to crown");
    tells(&imke, &["leaf-stage", "--collars", "5:10"], "field at V5 by 10 plants");
    tells(&imke, &["leaf-stage", "--stage", "V8"], "; V8, given for the field as a whole, does not count beside");
    let assessed = imke.does(&["assess", "north-40"]);
    assert!(assessed.contains("set aside") && assessed.contains("V8, given for the field as a whole"), "{assessed}");
    imke.does(&[
        "field",
        "add",
        "east",
        "--grower",
        "G",
        "--region",
        "US-IA",
        "--zone",
        "America/Chicago",
        "--crop",
        "Maiz",
    ]);
    assert!(imke.does(&["field", "list", "--format", "csv"]).contains(",corn,"));
    tells(&imke, &["pest-count", "--organism", "Black Cutworms", "--plants", "20", "--cut", "0"], "organism AGROYP");
    let before = imke.holds();
    for (words, message, hint) in [
        (
            "plant-spacing --positions '0cm 16cm 32cm 48 66'",
            "some numbers of `0cm 16cm 32cm 48 66` have a unit",
            "`0cm 16cm 32cm 48in 66in`, or `0cm 16cm 32cm 48cm 66cm`",
        ),
        ("seed-depth --seed-to-crown '1.25 1.125' --seed-to-surface 2", "got 2 and 1", ""),
        (
            "pest-count --organism cutworm --plants 20 --cut 1",
            "`cutworm` may mean several",
            "dingy cutworm (`dingy-cutworm`)",
        ),
        ("weed-count --weed pigweed --height 3in", "`pigweed` may mean several", "redroot pigweed (`AMARE`)"),
        ("soil-check --moisture dry", "`dry` is not one of its codes", "0 to 25 % (`0-25`)"),
        ("weather-day --at 2026-05-01", "observed at a station", "`ligule import weather FILE`"),
        (
            "photo --content a7ffc6f8bf1ed76651c14756a061d662f580ff4de43b49fa82d80a4b80f8434a --media-type JPEG --shows BAD",
            "no observation `BAD`",
            "",
        ),
    ] {
        let (kind, rest) = words.split_once(' ').expect("a kind and more");
        let refused = asks(&imke, &format!("record {kind} north-40 {rest}")).exits(2).stderr;
        assert!(refused.contains(message) && refused.contains(hint), "{words}: {refused}");
    }
    let capitals = asks(&imke, "record note NORTH-40 --text a").exits(2).stderr;
    assert!(capitals.contains("did you mean `north-40`?"), "{capitals}");
    assert_eq!(imke.holds(), before);
    let old = asks(&imke, "record note north-40 --text a --at 2016-05-01").exits(0).stderr;
    assert!(old.contains("the year 2016 lies "), "{old}");
    // Some editors mark a file's coding at its start.
    std::fs::write(place.folder().join("lines.txt"), "\u{feff}note north-40 --text hi\n").expect("it can be written");
    asks(&imke, "record --lines lines.txt").exits(0);
}

/// What this program wrote it replaces, as the report of the day before; another file never.
#[test]
fn files_of_others_are_never_overwritten() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 31);
    for line in ["report north-40 --out FILE", "bundle write FILE", "journal export FILE", "field export FILE"] {
        let own = line.replace("FILE", "own");
        asks(&imke, &own).exits(0);
        asks(&imke, &own).exits(0);
        let theirs = place.folder().join("theirs");
        std::fs::write(&theirs, "a letter").expect("it can be written");
        let refused = asks(&imke, &line.replace("FILE", "theirs")).exits(2).stderr;
        assert!(refused.contains("theirs is there already") && refused.contains("name another file"), "{refused}");
        assert_eq!(std::fs::read_to_string(&theirs).expect("it is there"), "a letter");
        // Nor what it wrote of another sort.
        for other in ["report north-40 --out own", "bundle write own", "journal export own", "field export own"] {
            asks(&imke, other).exits(if other == own { 0 } else { 2 });
        }
        std::fs::remove_file(place.folder().join("own")).expect("it is there");
    }
}

#[test]
fn place_and_person_are_told_and_a_place_on_another_continent_is_refused() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let said = asks(&imke, "record note north-40 --text gate --near 42.03,-93.62 --by Ruben").exits(0).stdout;
    assert!(said.contains("; by Ruben; at 42.03,-93.62"), "{said}");
    let listed = imke.observations();
    assert_eq!(listed[0]["place"], "42.03,-93.62");
    let key = listed[0]["observation"].as_str().expect("a key");
    let history = imke.does(&["history", key]);
    assert!(
        history.lines().any(|line| line.trim_start().starts_with("place") && line.contains("42.03,-93.62")),
        "{history}"
    );

    let before = imke.holds();
    let forgot = asks(&imke, "record note north-40 --text gate --near 42.03,93.62").exits(2).stderr;
    assert!(forgot.contains("42.03,93.62 lies in no part of US") && forgot.contains("take a minus"), "{forgot}");
    asks(&imke, "visit north-40 --near 42.03,93.62").exits(2);
    assert_eq!(imke.holds(), before);
}

#[test]
fn a_stage_that_the_crop_does_not_have_is_told() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    asks(&imke, "field add east --grower G --region US-IA --zone America/Chicago --crop soybean").exits(0);
    let notes = |line: &str| asks(&imke, line).exits(0).stderr;
    assert!(notes("record leaf-stage east --stage VT").contains("a field of soybean, which has no stage VT"));
    assert!(notes("record leaf-stage north-40 --stage VC").contains("a field of corn, which has no stage VC"));
    assert_eq!(notes("record leaf-stage east --stage VC"), "");
    let planted = notes("record planting east --day 2026-05-01 --crop corn --accept-time");
    assert!(planted.contains("the usual crop of east is soybean, not corn"), "{planted}");
    assert_eq!(notes("record leaf-stage east --stage VT"), "", "corn is planted there this season");
}

/// A value that stands and is written again is what this person says: another value that another device writes meanwhile waits.
#[test]
fn an_amendment_to_the_value_that_stands_is_an_affirmation() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let ruben = Device::new(&place, "ruben");
    imke.invites(&ruben);
    let key = imke.counts(20, 31);
    imke.exchanges_with(&ruben);
    let said = imke.does(&["amend", &key, "--plants", "31"]);
    assert!(said.contains("plants is 31 already, which is now said again"), "{said}");
    ruben.does(&["amend", &key, "--plants", "29"]);
    imke.exchanges_with(&ruben);
    for device in [&imke, &ruben] {
        let conflicts = device.does(&["conflicts", "--format", "csv"]);
        assert!(conflicts.contains("plants,31") && conflicts.contains("plants,29"), "{conflicts}");
    }
}

/// Whoever settles a conflict cannot write what does not go together with what is settled already.
#[test]
fn resolve_holds_values_to_what_they_must_be_to_each_other() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let ruben = Device::new(&place, "ruben");
    imke.invites(&ruben);
    let said = imke.does(&[
        "record",
        "pest-count",
        "north-40",
        "--organism",
        "AGROYP",
        "--plants",
        "10",
        "--damaged",
        "9",
        "--cut",
        "8",
    ]);
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("a key").0.to_owned();
    imke.exchanges_with(&ruben);
    imke.does(&["amend", &key, "--cut", "7"]);
    ruben.does(&["amend", &key, "--cut", "6"]);
    imke.exchanges_with(&ruben);
    let refused = imke.asks(&["resolve", &key, "cut", "50"]).exits(2).stderr;
    assert!(refused.contains("must not exceed"), "{refused}");
    assert!(imke.does(&["conflicts"]).contains(&key), "it waits as before");
    imke.does(&["resolve", &key, "cut", "6"]);
    assert_eq!(imke.does(&["conflicts"]).trim(), "no conflicts");
}

/// Two corrections that each hold can make a sample that cannot be.
#[test]
fn a_merge_that_makes_an_impossible_sample_is_told() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let ruben = Device::new(&place, "ruben");
    imke.invites(&ruben);
    let said = imke.does(&["record", "pest-count", "north-40", "--organism", "AGROYP", "--plants", "20", "--cut", "3"]);
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
    imke.exchanges_with(&ruben);
    imke.does(&["amend", key, "--plants", "10"]);
    ruben.does(&["amend", key, "--cut", "18"]);
    // It is one decision, told after the exchange, as it is where the changes come by a file.
    ruben.does(&["bundle", "write", "from-ruben.bundle"]);
    let said = imke.does(&["bundle", "read", "from-ruben.bundle"]);
    assert!(said.ends_with("\n1 conflict waits for a person; see `ligule conflicts`\n"), "{said}");
    let said = imke.exchanges_with(&ruben);
    assert!(said.ends_with("\n1 conflict waits for a person; see `ligule conflicts`\n"), "{said}");
    let exchanged: Vec<serde_json::Value> = {
        let serving = Waiting::serving(&imke, "1");
        serde_json::from_str(&ruben.does(&["sync", "with", serving.address(), "--format", "json"])).expect("JSON")
    };
    assert_eq!(exchanged[0]["conflicts"], 1, "{exchanged:?}");
    for device in [&imke, &ruben] {
        let waits =
            device.does(&["query", "--format", "csv", "select plants_cut, plants_examined, conflicts from pest_count"]);
        assert_eq!(waits.lines().nth(1), Some("18,10,plants_cut plants_examined"), "{waits}");
        // The way that a person who tries to resolve it is shown mends it.
        let refused = device.asks(&["resolve", key, "cut", "8"]).exits(2).stderr;
        let way = format!("`ligule amend {key} --cut VALUE` or `ligule amend {key} --plants VALUE`");
        assert!(refused.contains("must not exceed `--plants`, got 18 with 10") && refused.contains(&way), "{refused}");
        // What waits is in no number, and the report tells it.
        let assessed: serde_json::Value =
            serde_json::from_str(&device.does(&["assess", "north-40", "--format", "json"])).expect("JSON");
        let left_out = serde_json::to_string(&assessed["set_aside"]).expect("JSON");
        assert!(left_out.contains("plants_cut") && left_out.contains("plants_examined"), "{assessed}");
        assert_eq!(assessed["pests"], serde_json::json!([]), "{assessed}");
        device.does(&["report", "north-40", "--out", "report.html"]);
        let page = std::fs::read_to_string(place.folder().join("report.html")).expect("it was written");
        assert!(page.contains("Waiting for a decision") && page.contains("must not exceed"), "{page}");
        let listed = device.does(&["list"]);
        assert!(listed.contains("does not hold: ") && listed.contains("18"), "{listed}");
        let answer = device.asks(&["conflicts"]).exits(0);
        for (value, by) in [("18", "ruben"), ("10", "imke")] {
            let line = answer.stdout.lines().find(|line| line.contains(by)).expect("who wrote it");
            assert!(line.contains(value) && line.contains("pest-count"), "{}", answer.stdout);
        }
        let told = format!(
            "note: {key}: `--cut` of `pest-count` must not exceed `--plants`, got 18 with 10; correct what is wrong: `ligule \
             amend {key} --cut VALUE` or `ligule amend {key} --plants VALUE`"
        );
        assert!(answer.stderr.contains(&told), "{}", answer.stderr);
        let spanish = device.asks(&["conflicts", "--language", "es"]).exits(0).stderr;
        assert!(spanish.contains("`--cut` de `pest-count` no puede pasar de `--plants`"), "{spanish}");
        assert!(spanish.contains("corrija lo que esté mal"), "{spanish}");
        let rows: Vec<serde_json::Value> =
            serde_json::from_str(&device.does(&["conflicts", "--format", "json"])).expect("JSON");
        assert_eq!(rows.len(), 2, "{rows:?}");
        for row in &rows {
            let flag = if row["measure"] == "plants_cut" { "cut" } else { "plants" };
            assert_eq!(row["settle"], format!("ligule amend {key} --{flag} VALUE"));
            assert!(row["why"].as_str().is_some_and(|why| why.contains("must not exceed")), "{row}");
        }
    }
    // Beside it two people correct one measure of another observation: that is a second decision.
    let count = imke.counts(20, 31);
    imke.exchanges_with(&ruben);
    imke.does(&["amend", &count, "--plants", "30"]);
    ruben.does(&["amend", &count, "--plants", "29"]);
    let said = imke.exchanges_with(&ruben);
    assert!(said.ends_with("\n2 conflicts wait for a person; see `ligule conflicts`\n"), "{said}");
    let told = imke.asks(&["conflicts"]).exits(0).stderr;
    let by_value = |value| format!("`ligule resolve {count} plants \"{value}\"`");
    assert!(told.contains(&by_value(29)) && told.contains(&by_value(30)), "{told}");
    imke.does(&["resolve", &count, "--plants", "30"]);
    imke.does(&["amend", key, "--cut", "8"]);
    assert_eq!(imke.does(&["conflicts"]).trim(), "no conflicts");
    let said = imke.exchanges_with(&ruben);
    assert!(!said.contains("wait"), "{said}");
    assert_eq!(ruben.does(&["conflicts"]).trim(), "no conflicts");
    let waits = ruben.does(&["query", "--format", "csv", "select plants_cut, conflicts from pest_count"]);
    assert_eq!(waits.lines().nth(1), Some("8,"), "{waits}");
}

/// A soil sample has no nutrients of a leaf: neither is recorded, nor can a correction make one of it.
#[test]
fn what_does_not_go_with_the_material_is_refused() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let refused = asks(&imke, "record nutrient-test north-40 --material soil --tissue-n 2.9%").exits(2).stderr;
    assert!(refused.contains("`--tissue-n` of `nutrient-test` goes with `--material` whole-plant"), "{refused}");
    let spanish = ["record", "nutrient-test", "north-40", "--material", "ear-leaf", "--ph", "6.5", "--language", "es"];
    let refused = imke.asks(&spanish).exits(2).stderr;
    assert!(refused.contains("`--ph` de `nutrient-test` va con `--material` soil"), "{refused}");
    let said = asks(&imke, "record nutrient-test north-40 --material soil --nitrate-n 17").exits(0).stdout;
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
    asks(&imke, &format!("amend {key} --material ear-leaf")).exits(2);
    asks(&imke, &format!("amend {key} --tissue-n 2.9%")).exits(2);
    asks(&imke, &format!("amend {key} --ph 6.5")).exits(0);
}

/// Whoever reads Spanish is refused in Spanish.
#[test]
fn a_scout_is_refused_in_the_language_of_the_crew() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    for (line, what, then) in [
        (
            "record stand-count nroth-40 --thousandths 1 --plants 31",
            "no hay lote `nroth-40`",
            "¿quiso decir `north-40`?",
        ),
        (
            "record stand-count north-40 --row 300in --length 17ft --plants 31",
            "debe estar entre 4 y 80 in",
            "vea `ligule kind",
        ),
        (
            "record stand-count north-40 --row 30inhces --length 17ft --plants 31",
            "unidad desconocida `inhces`",
            "unidades aquí",
        ),
        ("record stand-count north-40 --row 30kg --length 17ft --plants 31", "se esperaba un largo", "que es una masa"),
        (
            "record stand-count north-40 --row 30in --plants 31",
            "`stand-count` necesita `--row` y `--length`, o `--hoop`",
            "",
        ),
        (
            "record pest-count north-40 --organism AGROYQ --plants 20",
            "no es uno de sus códigos",
            "¿quiso decir gusano cortador negro (`AGROYP`)?",
        ),
        ("record planting north-40 --crop corn --day 2126-05-01", "es después de", "--accept-time"),
        ("list --kind stand-cuont", "no hay tema `stand-cuont`", "Los temas son"),
    ] {
        let refused = asks(&imke, &format!("{line} --language es")).exits(2).stderr;
        assert!(refused.contains(what) && refused.contains(then), "{line}: {refused}");
    }
}

/// Lines are told one by one as if they had been typed, with their number; of very many the kinds on each field are counted.
#[test]
fn few_lines_are_told_each_and_many_by_field_and_kind() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let count = "stand-count north-40 --hoop 30in --plants 18 --at 2026-05-20T08:00";
    let lines = |n: usize| {
        let lines = [vec![count; n - 1], vec!["note north-40 --text rain --at 2026-05-20T09:00"]].concat();
        std::fs::write(place.folder().join("lines.txt"), lines.join("\n")).expect("the folder can be written");
        ["record", "--lines", "lines.txt"]
    };
    let said = imke.does(&lines(20));
    let told: Vec<&str> = said.lines().filter(|line| !line.starts_with(' ')).collect();
    assert_eq!(told.len(), 21, "{said}");
    assert!(told[..19].iter().all(|line| line.contains(": stand-count on north-40, 2026-05-20 08:00, hoop 30 in")));
    assert!(told[19].contains(": note on north-40") && told[20] == "recorded 20 observations on north-40", "{said}");
    assert_eq!(said.matches("mean of 19 so far").count(), 1, "{said}");
    let said = imke.does(&lines(21));
    assert_eq!(said, "recorded 21 observations on north-40\n  north-40: stand-count 20, note 1\n");
    let [record, flag, file] = lines(21);
    let said = imke.does(&[record, flag, file, "--format", "ndjson"]);
    let kinds = said.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).expect("JSON")["kind"].clone());
    assert_eq!(kinds.filter(|kind| kind == "stand-count").count(), 20);
}
