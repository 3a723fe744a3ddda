//! The program can be asked what it does, on a machine where it has never run.

use ligule_testkit::Place;

#[test]
fn help_names_the_program_and_writes_nothing() {
    let place = Place::new();
    let answer = place.ligule(&["--help"]).exits(0);
    assert!(answer.stdout.contains("Usage: ligule"), "{}", place.transcript());
    assert_eq!(answer.stderr, "");
    let left: Vec<_> = std::fs::read_dir(place.folder()).unwrap().collect();
    assert!(left.is_empty(), "{left:?}");
}

/// What stands behind `--and` is taken apart later; help that is asked for there is given all the same.
#[test]
fn help_behind_and_is_that_of_the_kind_there() {
    let place = Place::new();
    let asked = |line: &str| place.ligule(&line.split(' ').collect::<Vec<_>>()).exits(0);
    let of = |kind: &str| asked(&format!("record {kind} --help")).stdout;
    for (line, kind) in [
        ("record note f1 --text a --and leaf-stage --help", "leaf-stage"),
        ("record note f1 --and leaf-stage f1 --collars 4 --and --help", "leaf-stage"),
        ("record note --and -h", "note"),
    ] {
        let told = asked(line);
        assert_eq!((told.stdout, told.stderr.as_str()), (of(kind), ""), "{line}");
    }
}

#[test]
fn a_wrong_flag_is_the_user_s_mistake() {
    let place = Place::new();
    let answer = place.ligule(&["--no-such-flag"]).exits(2);
    assert_eq!(answer.stdout, "");
    assert!(answer.stderr.contains("--no-such-flag"), "{}", place.transcript());
}
