//! What degree days foretell of corn.

use ligule_units::Length;

use crate::catalogue::{Answer, Input, Origin, Takes, Worksheet};
use crate::degree_days::maturity::{FEWER_TO_BLACK_LAYER, FEWER_TO_SILK};
use crate::degree_days::{
    EMERGENCE_FIGURES, LeafPrediction, LeafRate, SOYBEAN_EMERGENCE, Seedbed, StageNeed, Texture, black_layer_needs,
    days_after_1_may, delayed_planting_maturity, emergence_need, predict_leaf_stage, silk_needs, tassel_needs,
};
use crate::error::{Error, within};

const DELAY_HOLDS: &str = "The drop for late planting: Indiana and Ohio, three hybrids; not outside the eastern and central Corn \
                           Belt, not beyond 45 days after 1 May, none before it.";

pub(super) const EMERGENCE: Worksheet = Worksheet {
    name: "emergence-need",
    title: "Degree days from planting to emergence of corn in a seedbed, or of soybean",
    inputs: &[
        Input::usual("crop", Takes::Word(&["corn", "soybean"]), "corn", "Crop; soybean needs no more"),
        Input::usual("depth", Takes::Quantity("[in_i]"), "2in", "Seed depth"),
        Input::usual("texture", Takes::Word(Texture::WORDS), "medium", "Soil texture"),
        Input::usual("seed-zone", Takes::Word(&["moist", "dry"]), "moist", "Seed zone: dry if drier than ideal"),
        Input::usual("residue", Takes::Quantity("%"), "0", "Share of the surface under residue"),
    ],
    source: "J. Lauer (2003), Time for corn emergence, Wisconsin Crop Manager 10(8):63-64; soybean: Michigan State University \
             Extension, Assessing soybean stands",
    example: "--depth 3in --residue 80",
    work: |given| {
        if given.text("crop") == "soybean" {
            return Ok(soybean_emergence());
        }
        let depth = given.number("depth");
        let seedbed = Seedbed {
            depth: Length::from_inches(depth),
            texture: given.text("texture").parse()?,
            dry: given.text("seed-zone") == "dry",
            residue: given.number("residue") / 100.0,
        };
        let need = emergence_need(&seedbed)?;
        let mut parts = vec!["125".to_owned()];
        if depth > 2.0 {
            parts.push(format!("+ 15 × {:.2} for depth", depth - 2.0));
        }
        match seedbed.texture {
            Texture::Fine => parts.push("+ 30 to 60 for fine soil".to_owned()),
            Texture::Coarse => parts.push("− 60 to 30 for coarse soil".to_owned()),
            Texture::Medium => {}
        }
        if seedbed.dry {
            parts.push("+ 30 for a dry seed zone".to_owned());
        }
        if seedbed.residue > 0.75 {
            parts.push("+ 30 to 60 for residue".to_owned());
        }
        let (low, high) = (need.low.fahrenheit(), need.high.fahrenheit());
        let mut answer = Answer::default()
            .step(format!("{} = {low:.0} to {high:.0}", parts.join(" ")))
            .range("degree days to emergence", (low, high), 0, "°F·d")
            .number("middle", need.midpoint().fahrenheit(), 0, "°F·d")
            .remark("Taking the middle is common practice; the source prints ranges.");
        for figure in &EMERGENCE_FIGURES {
            answer = answer
                .remark(format!("{:.0} to {:.0} without adjustment: {}.", figure.low, figure.high, figure.source));
        }
        Ok(answer.remark("If the sum has passed and nothing is up, dig seed (common practice)."))
    },
};

/// Returns what publications give for soybean; no seedbed moves it, for none of them says how.
fn soybean_emergence() -> Answer {
    let (mut halves, mut mosts) = ((f64::INFINITY, 0.0_f64), (f64::INFINITY, 0.0_f64));
    let mut answer = Answer::default();
    for (source, half, most) in SOYBEAN_EMERGENCE {
        halves = (halves.0.min(half), halves.1.max(half));
        mosts = (mosts.0.min(most), mosts.1.max(most));
        answer = answer
            .step(format!("{half:.0} to half of the plants, {most:.0} to 90 %"))
            .remark(format!("{half:.0} and {most:.0}: {source}."));
    }
    answer
        .range("degree days until half are up", halves, 0, "°F·d")
        .range("degree days until 90 % are up", mosts, 0, "°F·d")
        .remark("The seedbed (depth, texture, seed-zone, residue) changes nothing here: the adjustments are published for corn only.")
}

pub(super) const LEAF: Worksheet = Worksheet {
    name: "leaf-stage",
    title: "Leaf stage of corn that degree days since planting foretell",
    inputs: &[
        Input::required("degree-days", Takes::Quantity("5.K.d/9"), "Degree days since planting, °F days"),
        Input::usual("emergence", Takes::Quantity("5.K.d/9"), "115", "Degree days from planting to emergence, °F days"),
        Input::optional("rate", Takes::Word(LeafRate::WORDS), "Rate of leaves; left out, both"),
        Input::usual(
            "leaves",
            Takes::Number("leaves"),
            "20",
            "Final number of leaves of the hybrid, commonly 18 to 21",
        ),
    ],
    source: "R. L. Nielsen (2019), Predict leaf stage development in corn using thermal time, Purdue University; L. J. Abendroth \
             et al. (2011), Corn growth and development, Iowa State University PMR 1009, quoted by P. Thomison, Ohio State \
             University",
    example: "--degree-days 785 --emergence 120",
    work: |given| {
        let leaves = within("a final number of leaves", given.number("leaves"), 10.0, 30.0, "")?.round() as u8;
        let (since, emergence) = (given.fahrenheit_days("degree-days"), given.fahrenheit_days("emergence"));
        let rates = match given.maybe_text("rate") {
            Some(rate) => vec![rate.parse()?],
            None => LeafRate::ALL.to_vec(),
        };
        let mut answer = Answer::default();
        for rate in rates {
            let (early, late) = rate.per_collar();
            let grown = since.fahrenheit() - emergence.fahrenheit();
            match predict_leaf_stage(since, emergence, rate, leaves)? {
                LeafPrediction::NotEmerged { lacking } => {
                    answer = answer
                        .step(format!("{grown:.0} since emergence: {:.0} are lacking", lacking.fahrenheit()))
                        .words(rate.word(), "not emerged");
                }
                LeafPrediction::PastLastLeaf { by } => {
                    let needed = 10.0 * early + (f64::from(leaves) - 10.0) * late;
                    answer = answer
                        .step(format!(
                            "{}: {leaves} collars take 10 × {early:.0} + {} × {late:.0} = {needed:.0} of {grown:.0} since \
                             emergence: {:.0} beyond",
                            rate.word(),
                            leaves - 10,
                            by.fahrenheit()
                        ))
                        .words(rate.word(), format!("past the last leaf (V{leaves}): leaves tell no stage here"));
                }
                LeafPrediction::Emerged { collars, stage, low, high } => {
                    answer = answer
                        .step(if grown <= 10.0 * early {
                            format!("{}: {grown:.0} / {early:.0} = {collars:.2} collars", rate.word())
                        } else {
                            format!(
                                "{}: 10 + ({grown:.0} − {:.0}) / {late:.0}, at most {leaves} = {collars:.2} collars",
                                rate.word(),
                                10.0 * early
                            )
                        })
                        .words(rate.word(), format!("{stage} ({low} to {high})"));
                }
            }
        }
        Ok(answer
            .remark("The two rates differ; the band of one collar either way is common practice.")
            .remark("Central Corn Belt, no severe stress. Emergence itself is a range of 90 to 150 °F days."))
    },
};

pub(super) const MATURITY: Worksheet = Worksheet {
    name: "maturity-need",
    title: "Degree days from planting to tassel, silk and black layer by relative maturity and planting date",
    inputs: &[
        Input::required("maturity", Takes::Number("days"), "Relative maturity of the hybrid"),
        Input::optional("planted", Takes::Day, "Planting date; left out, without the drop for late planting"),
    ],
    source: "a table of the seed trade, source not traceable; J. G. Lauer, Corn development, University of Wisconsin; silk recalled; R. L. \
             Nielsen et al. (2002), Agronomy Journal 94:549-558",
    example: "--maturity 105 --planted 2026-05-31",
    work: |given| {
        let maturity = given.number("maturity");
        let late = given.day("planted").map_or(0, days_after_1_may);
        let mut answer = Answer::default();
        let black = black_layer_needs(maturity)?;
        // Beyond its days the rule is refused, whatever is found in the tables.
        delayed_planting_maturity(black[0].low, late)?;
        answer = tell(answer, "black layer", &black);
        answer = drop_for_late(answer, "black layer, less the drop", &black, late, FEWER_TO_BLACK_LAYER);
        answer = match silk_needs(maturity) {
            Ok(silk) => {
                let answer = tell(answer, "silk", &silk);
                drop_for_late(answer, "silk, less the drop", &silk, late, FEWER_TO_SILK)
            }
            Err(outside @ Error::OutsideTable { .. }) => answer.remark(format!("Silk: {outside}.")),
            Err(error) => return Err(error),
        };
        answer = match tassel_needs(maturity) {
            Ok(tassel) => tell(answer, "tassel", &tassel),
            Err(outside @ Error::OutsideTable { .. }) => answer.remark(format!("Tassel: {outside}.")),
            Err(error) => return Err(error),
        };
        let answer = match given.day("planted") {
            Some(_) if late > 0 => answer.remark(DELAY_HOLDS),
            Some(_) => answer.remark("Planted on 1 May or before: the rule for late planting says nothing of it."),
            None => answer,
        };
        Ok(answer.remark(
            "No standard defines relative maturity. Prefer the hybrid's own rating, and ask whether it counts from \
                          planting or from emergence (about 115 °F days more from planting).",
        ))
    },
};

pub(super) const DELAY: Worksheet = Worksheet {
    name: "delayed-planting",
    title: "Degree days to black layer of a hybrid planted after 1 May",
    inputs: &[
        Input::required("rated", Takes::Quantity("5.K.d/9"), "Rated degree days from planting to black layer, °F days"),
        Input::required("planted", Takes::Day, "Planting date"),
    ],
    source: "R. L. Nielsen et al. (2002), Agronomy Journal 94:549-558; R. L. Nielsen, Hybrid maturity decisions for delayed \
             planting, Purdue University",
    example: "--rated 2700 --planted 2026-05-31",
    work: |given| {
        let rated = given.fahrenheit_days("rated");
        let planted = given.day("planted").expect("required inputs are checked before a worksheet works");
        if planted < jiff::civil::date(planted.year(), 5, 1) {
            return Err(Error::OutsideTable {
                table: "the drop for late planting",
                what: "planting dates",
                covers: "1 May to 15 June; before 1 May the rule says nothing, and the rating stands".to_owned(),
                came: planted.to_string(),
            });
        }
        let late = days_after_1_may(planted);
        let needed = delayed_planting_maturity(rated, late)?.fahrenheit();
        Ok(Answer::default()
            .step(format!("{:.0} − {FEWER_TO_BLACK_LAYER} × {late} days = {needed:.0}", rated.fahrenheit()))
            .number("degree days to black layer", needed, 0, "°F·d")
            .remark(DELAY_HOLDS))
    },
};

/// Adds what each source gives for a stage, as published, and the range over all.
fn tell(mut answer: Answer, stage: &'static str, needs: &[StageNeed]) -> Answer {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for need in needs {
        let (low, high) = (need.low.fahrenheit(), need.high.fahrenheit());
        (least, most) = (least.min(low), most.max(high));
        let figure = need.figure;
        let memory = if figure.origin == Origin::Memory { " (from memory, to be verified)" } else { "" };
        answer = answer
            .step(format!("{stage}: {low:.0} to {high:.0}, {}{memory}", figure.source))
            .remark(format!("{stage}, {low:.0} to {high:.0}: {}.", figure.holds));
    }
    answer.range(stage, (least, most), 0, "°F·d")
}

/// Adds the drop for late planting on each figure whose region is not another, and says that joining them is ours.
fn drop_for_late(mut answer: Answer, name: &'static str, needs: &[StageNeed], late: u32, fewer: f64) -> Answer {
    if late == 0 {
        return answer;
    }
    let (mut ends, drop): (Option<(f64, f64)>, f64) = (None, fewer * f64::from(late));
    for need in needs {
        let (low, high) = (need.low.fahrenheit(), need.high.fahrenheit());
        let figure = need.figure;
        answer = if figure.takes_drop {
            let (from, to) = (low - drop, high - drop);
            ends = Some(ends.map_or((from, to), |(least, most): (f64, f64)| (least.min(from), most.max(to))));
            answer.step(format!(
                "{name}: {low:.0} to {high:.0} − {fewer} × {late} days = {from:.0} to {to:.0}; the drop is of Indiana and \
                 Ohio, the figure of unknown region and basis: joining them is ours (derived)"
            ))
        } else {
            answer.step(format!(
                "{name}: not applied to {low:.0} to {high:.0}, which is of another region ({})",
                figure.source
            ))
        };
    }
    match ends {
        Some(ends) => answer.range(name, ends, 0, "°F·d"),
        None => answer,
    }
}
