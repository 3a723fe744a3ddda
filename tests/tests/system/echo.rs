//! What is told as an observation is recorded: the sums are held to numbers reckoned apart from the program.

use ligule_testkit::Place;

use crate::device::Device;

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
        "6 gaps, mean 6.62 in, SD 3.74 in, 17 % doubles, 17 % skips; the studies find a loss of 0.0 to 6.9 bu/ac",
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
