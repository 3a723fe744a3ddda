//! A kind of the user's own is a file in the journal's folder: flags, listing and table come from it.

use ligule_testkit::Place;
use serde_json::Value;

use crate::device::Device;

/// A kind that does not come with the program.
pub(crate) const EARTHWORMS: &str = r#"
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
    let read = place.ligule(&["--journal", "j", "list"]).exits(0).stdout;
    assert!(read.contains("worms 7 (as kept: its unit is not known on this device)"), "{read}");
    // A file that is no kind is told by name and line.
    std::fs::create_dir(place.folder().join("j/kinds")).expect("a folder can be made");
    std::fs::write(place.folder().join("j/kinds/odd.toml"), "kind = 3\n").expect("a file can be written");
    let odd = place.ligule(&["--journal", "j", "list"]).exits(3);
    assert!(odd.stderr.contains("odd.toml") && odd.stderr.contains('1'), "{}", odd.stderr);
}

const WORM_SPECIES: &str = r#"
list = "worm-species"
source = "this crew"
date = "2026-05-01"
about = { en = "Earthworms that this crew tells apart." }

[[code]]
code = "nightcrawler"
label = { en = "nightcrawler", es = "lombriz de tierra" }
certainty = "own"
"#;

/// A measure that only this crew's `plant-height` has.
const LEANING: &str = r#"
[[measure]]
name = "leaning"
label = { en = "Leaning" }
type = "count"
unit = "1"
range = [0, 100]
"#;

/// A kind, a measure of a known kind and a code list that a device does not know go through it unharmed: by bundle, past
/// a correction made there, into an archive made there, on by the network, through an export that another device that
/// does not know them either reads in, and back.
#[test]
fn what_a_device_does_not_know_goes_through_it_unharmed() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    imke.invites(&tomas);
    let species = "\n[[measure]]\nname = \"species\"\nlabel = { en = \"Species\" }\ntype = \"choice\"\ncodelist = \"worm-species\"\n";
    let height = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../schemas/kinds/plant-height.toml"))
        .expect("the kind is there")
        .replace("version = 1\n", "version = 2\n");
    let kinds = imke.folder().join("kinds");
    std::fs::create_dir_all(kinds.join("codelists")).expect("a folder can be made");
    for (file, text) in [
        ("codelists/worm-species.toml", WORM_SPECIES.to_owned()),
        ("earthworm-count.toml", format!("{EARTHWORMS}{species}")),
        ("plant-height.toml", format!("{height}{LEANING}")),
    ] {
        std::fs::write(kinds.join(file), text).expect("a file can be written");
    }
    imke.does(&["record", "earthworm-count", "north-40", "--worms", "7", "--species", "Nightcrawler"]);
    imke.does(&["record", "plant-height", "north-40", "--height", "9in", "--leaning", "3"]);
    imke.does(&["bundle", "write", "out.bundle"]);
    tomas.does(&["bundle", "read", "out.bundle"]);
    let values = |device: &Device<'_>| -> Vec<(String, Value)> {
        let mut all: Vec<_> = device
            .observations()
            .into_iter()
            .map(|line| (line["kind"].as_str().expect("a kind").to_owned(), line["values"].clone()))
            .collect();
        all.sort_by(|a, b| a.0.cmp(&b.0));
        all
    };
    let kept = values(&tomas);
    assert_eq!(kept[0].1["worms"], "7");
    let listed = tomas.does(&["list", "--kind", "earthworm-count"]);
    assert!(listed.contains("earthworm-count"), "{listed}");
    assert!(tomas.asks(&["list", "--kind", "earthworm-cuont"]).exits(2).stderr.contains("there is no kind"));
    assert_eq!(kept[0].1["species"], "nightcrawler");
    assert_eq!(kept[1].1["leaning"], "3");
    // It corrects what it knows; what it does not know stays beside it.
    let key = tomas.observations().into_iter().find(|line| line["kind"] == "plant-height").expect("it is there");
    tomas.does(&["amend", key["observation"].as_str().expect("a key"), "--height", "10in"]);
    tomas.does(&["compact"]);
    let sql = "SELECT kind, measure, value FROM other ORDER BY kind, measure";
    assert_eq!(
        tomas.does(&["query", "--format", "csv", sql]),
        "kind,measure,value\nearthworm-count,species,nightcrawler\nearthworm-count,worms,7\nplant-height,leaning,3\n"
    );
    // On by the network to one that does not know them either, and out of there as lines of JSON into an empty journal.
    let ruth = Device::new(&place, "ruth");
    tomas.invites(&ruth);
    ruth.exchanges_with(&tomas);
    ruth.does(&["journal", "export", "all.jsonl"]);
    let exported = std::fs::read_to_string(place.folder().join("all.jsonl")).expect("the export");
    assert!(exported.contains("earthworm-count") && exported.contains("\"leaning\""), "told in words too");
    let read_in = Device::that_is_there(&place, "read-in");
    read_in.does(&["journal", "import", "all.jsonl"]);
    for device in [&ruth, &read_in] {
        assert_eq!(values(device), values(&tomas), "{}", device.name());
        device.does(&["journal", "verify"]);
        device.does(&["compact"]);
        let other = device.does(&["query", "--format", "csv", sql]);
        assert_eq!(other, tomas.does(&["query", "--format", "csv", sql]), "{}", device.name());
        let kinds = device.does(&["list", "--language", "es"]);
        assert!(kinds.contains("earthworm-count") && kinds.contains("nightcrawler"), "told as it is kept: {kinds}");
    }
    ruth.does(&["bundle", "write", "back.bundle"]);
    imke.does(&["bundle", "read", "back.bundle"]);
    assert_eq!(imke.holds(), tomas.holds());
    let sql = "SELECT w.species, h.leaning, h.height_in FROM earthworm_count w, plant_height h";
    imke.does(&["compact"]);
    assert_eq!(imke.does(&["query", "--format", "csv", sql]), "species,leaning,height_in\nnightcrawler,3,10.0\n");
}
