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

#[test]
fn a_wrong_flag_is_the_user_s_mistake() {
    let place = Place::new();
    let answer = place.ligule(&["--no-such-flag"]).exits(2);
    assert_eq!(answer.stdout, "");
    assert!(answer.stderr.contains("--no-such-flag"), "{}", place.transcript());
}
