//! The formulas of roots as worksheets.

use super::growth::{root_angle, sidewall};
use super::node_injury::{NodeLossStudy, USUAL_ROOTS, from_old_scale, injury_loss, node_injury, to_old_scale};
use super::rootless::rootless_signs;
use crate::catalogue::{Answer, Input, Need, Takes, Worksheet};
use crate::error::Error;

const YES_NO: &[&str] = &["yes", "no"];

pub(crate) const WORKSHEETS: &[Worksheet] = &[NODE_INJURY, OLD_SCALE, ROOT_ANGLE, SIDEWALL, ROOTLESS];

const NODE_INJURY: Worksheet = Worksheet {
    name: "node-injury",
    title: "Rootworm injury of dug roots, and the yield it costs",
    inputs: &[Input::required("ratings", Takes::Number("nodes"), "Node injury of each root, 0 to 3").many()],
    source: "J. D. Oleson, Y.-L. Park, T. M. Nowatzki, J. J. Tollefson (2005), Journal of Economic Entomology \
             98(1):1-8; N. A. Tinsley, R. E. Estes, M. E. Gray (2013), Journal of Applied Entomology; Z. Dun, P. D. \
             Mitchell, M. Agosti (2010), Journal of Applied Entomology 134, from memory, to be verified",
    example: "--ratings '0.1 0.5 1 0.25 2 0.75 0 1.5 0.5 0.9'",
    work: |given| {
        let ratings = given.numbers("ratings");
        let found = node_injury(ratings)?;
        let sum: f64 = ratings.iter().sum();
        let mut answer =
            Answer::default().step(format!("mean: {sum:.2} / {} roots = {:.3} nodes", found.roots, found.mean));
        let mut ends: Option<(f64, f64)> = None;
        for study in NodeLossStudy::ALL {
            let percent = injury_loss(found.mean, *study)? * 100.0;
            let (a_node, ..) = study.a_node();
            let line = format!("{}: {:.3} × {:.1} % a node = {percent:.1} %", study.word(), found.mean, a_node * 100.0);
            answer = answer.step(line);
            ends = Some(ends.map_or((percent, percent), |(low, high)| (low.min(percent), high.max(percent))));
        }
        let (mut low, mut high) = (0.0, 0.0);
        for rating in ratings {
            let (least, most) = to_old_scale(*rating)?;
            (low, high) = (low + least / found.roots as f64, high + most / found.roots as f64);
        }
        answer = answer
            .number("mean node injury", found.mean, 2, "nodes")
            .range("loss of yield", ends.expect("there are studies"), 1, "%")
            .number("roots of 0.25 or less", found.share_well_protected * 100.0, 0, "%")
            .number("highest rating", found.highest, 2, "nodes")
            .step(format!("old scale: each root's range, averaged over {} roots = {low:.1} to {high:.1}", found.roots))
            .range("on the old 1-6 scale", (low, high), 1, "");
        if found.roots < USUAL_ROOTS {
            answer = answer.remark("Fewer than 10 roots: rate more (common practice, no source).");
        }
        Ok(answer
            .remark("Rate washed roots from early July to the middle of August (common practice, no source).")
            .remark("17.9 % a node is from memory, to be verified; scatter around both lines is large.")
            .remark("Says nothing of what to do next season: local thresholds, labels and codes decide that."))
    },
};

const OLD_SCALE: Worksheet = Worksheet {
    name: "old-root-rating",
    title: "A rating of the old 1-6 root scale as node injury, a range",
    inputs: &[Input::required("rating", Takes::Number(""), "Rating on the 1-6 scale, decimals allowed")],
    source: "T. M. Hills and D. C. Peters (1971), Journal of Economic Entomology 64:764-765; J. D. Oleson et al. \
             (2005), Journal of Economic Entomology 98(1):1-8, both as printed by Iowa State University; ranges \
             reckoned from the classes",
    example: "--rating 2.5",
    work: |given| {
        let rating = given.number("rating");
        let (low, high) = from_old_scale(rating)?;
        Ok(Answer::default()
            .step("1 and 2: no node; 3: less than a node; 4: one; 5: two; 6: three or more")
            .step(format!("{rating} lies between {low:.0} and {high:.0} nodes"))
            .range("node injury", (low, high), 0, "nodes")
            .remark("About 0.25 nodes is 2.5 on the old scale (Iowa State University, 2003)."))
    },
};

const ROOT_ANGLE: Worksheet = Worksheet {
    name: "root-angle",
    title: "Class of the nodal-root angle",
    inputs: &[
        Input::required("angles", Takes::Quantity("deg"), "Angle of each whorl from the horizontal, V4 to V6").many()
    ],
    source: "common practice, no source",
    example: "--angles '15 35 50'",
    work: |given| {
        let mut answer = Answer::default();
        let mut classes: Vec<&str> = Vec::new();
        for (index, angle) in given.numbers("angles").iter().enumerate() {
            let class = root_angle(*angle)?.word();
            answer = answer.step(format!("whorl {}: {angle}° is {class}", index + 1));
            classes.push(class);
        }
        Ok(answer
            .words("classes", classes.join(", "))
            .remark("Flat roots: look for a hard layer, wet soil, much nitrogen near the surface."))
    },
};

const SIDEWALL: Worksheet = Worksheet {
    name: "sidewall-sign",
    title: "Sign of sidewall compaction on a dug plant",
    inputs: &[
        Input {
            name: "smeared",
            help: "Furrow wall shiny and smeared",
            takes: Takes::Word(YES_NO),
            need: Need::Required,
            many: false,
        },
        Input::required(
            "turned",
            Takes::Quantity("%"),
            "Nodal roots that turn along the slot instead of crossing its wall",
        ),
    ],
    source: "signs: Purdue University (2022), Sidewall compaction; Kansas State University, Sidewall compaction from \
             planting into wet soils; score: common practice, no source",
    example: "--smeared yes --turned 40%",
    work: |given| {
        let (smeared, turned) = (given.text("smeared") == "yes", given.number("turned") / 100.0);
        let sign = sidewall(smeared, turned)?;
        Ok(Answer::default()
            .step(format!("wall smeared: {}; {:.0} % of the roots turned", given.text("smeared"), turned * 100.0))
            .number("score", f64::from(sign.score()), 0, "of 3")
            .words("sign", sign.word())
            .remark("A dry spell after wet planting makes it worse; once there, it stays for the season."))
    },
};

const ROOTLESS: Worksheet = Worksheet {
    name: "rootless-corn",
    title: "Signs of risk for rootless corn",
    inputs: &[
        Input::required("planted", Takes::Day, "Day of planting"),
        Input::required("depth", Takes::Quantity("[in_i]"), "Seed depth"),
        Input::required("dry", Takes::Word(YES_NO), "Surface soil is dry"),
        Input::optional("maxima", Takes::Quantity("[degF]"), "Maxima of the days since V1, in order").many(),
    ],
    source: "R. L. Nielsen (2022), Rootless or floppy corn syndrome, Purdue University; the limits of late May (21st), \
             upper 90s (96 °F) and several days (two) are our reading",
    example: "--planted 2026-05-28 --depth 1in --dry yes --maxima '95 97 98'",
    work: |given| {
        let planted = given.day("planted").ok_or(Error::Missing { input: "planted", help: "Day of planting" })?;
        let maxima: Vec<_> =
            given.numbers("maxima").iter().map(|f| ligule_units::Temperature::from_fahrenheit(*f)).collect();
        let signs = rootless_signs(planted, given.inches("depth"), given.text("dry") == "yes", &maxima)?;
        let said = |sign: bool| if sign { "yes" } else { "no" };
        Ok(Answer::default()
            .step(format!("planted late May or later: {}", said(signs.late)))
            .step(format!("seed shallower than 1¼ in: {}", said(signs.shallow)))
            .step(format!("surface soil dry: {}", said(signs.dry)))
            .step(format!("two days in a row of 96 °F or more: {}", said(signs.hot)))
            .number("signs of risk", signs.count() as f64, 0, "of 4")
            .remark("A list of what contributes, not a probability: dig and look at the tips of the nodal roots."))
    },
};
