//! A kind of the user's own is a file in the journal's folder: flags, listing and table come from it.

use ligule_testkit::Place;

const EARTHWORMS: &str = r#"
kind = "earthworm-count"
version = 1
feature = "soil"
example = "--worms 7"
label = { en = "Earthworm count" }
about = { en = "Earthworms in a spade's depth." }
protocol = { en = "Dig one spade deep, count." }

[[measure]]
name = "worms"
label = { en = "Worms" }
type = "count"
unit = "1"
range = [0, 500]
required = true
"#;

#[test]
fn a_kind_is_added_by_adding_a_file() {
    let place = Place::new();
    place.ligule(&["--journal", "j", "init", "--person", "A Tester"]).exits(0);
    let add = "--journal j field add f1 --grower G --region US-IA --zone America/Chicago";
    place.ligule(&add.split(' ').collect::<Vec<_>>()).exits(0);
    place.ligule(&["--journal", "j", "record", "earthworm-count", "f1", "--worms", "7"]).exits(2);
    std::fs::create_dir(place.folder().join("j/kinds")).expect("a folder can be made");
    std::fs::write(place.folder().join("j/kinds/earthworm-count.toml"), EARTHWORMS).expect("a file can be written");
    place.ligule(&["--journal", "j", "record", "earthworm-count", "f1", "--worms", "7"]).exits(0);
    place.ligule(&["--journal=j", "record", "earthworm-count", "f1", "--worms", "501"]).exits(2);
    place.ligule(&["--journal", "j", "compact"]).exits(0);
    let sql = "SELECT sum(worms) AS worms FROM earthworm_count";
    let answer = place.ligule(&["--journal", "j", "query", "--format", "csv", sql]).exits(0);
    assert_eq!(answer.stdout, "worms\n7\n");
    // A device without the file keeps what it does not know.
    std::fs::remove_dir_all(place.folder().join("j/kinds")).expect("the folder can go");
    let listed = place.ligule(&["--journal", "j", "list", "--format", "ndjson"]).exits(0).stdout;
    assert!(listed.contains("\"worms\":\"7\""), "{listed}");
    // A file that is no kind is told by name and line.
    std::fs::create_dir(place.folder().join("j/kinds")).expect("a folder can be made");
    std::fs::write(place.folder().join("j/kinds/odd.toml"), "kind = 3\n").expect("a file can be written");
    let odd = place.ligule(&["--journal", "j", "list"]).exits(3);
    assert!(odd.stderr.contains("odd.toml") && odd.stderr.contains('1'), "{}", odd.stderr);
}
