//! The formulas of soil as worksheets.

use ligule_units::Length;

use super::feel::{Feel, TextureClass, texture_class};
use super::moisture::{available, deficit, depletion};
use super::residue::residue_cover;
use super::rupture::{Moisture, rupture_resistance};
use super::structure::{Grade, Shape, SizeSystem, size_class};
use super::water::WaterPerDepth;
use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::error::{Error, within};

pub(crate) const WORKSHEETS: &[Worksheet] = &[MOISTURE, DEPLETION, STRUCTURE, RUPTURE, RESIDUE];

const MOISTURE: Worksheet = Worksheet {
    name: "soil-moisture",
    title: "Available water and deficit of a layer from texture and feel",
    inputs: &[
        Input::required("texture", Takes::Text, "Texture (`silt loam`) or its class (`medium`)"),
        Input::required("feel", Takes::Word(Feel::WORDS), "How a squeezed handful feels"),
        Input::usual("depth", Takes::Quantity("[in_i]"), "12in", "Thickness of the layer"),
    ],
    source: "USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and appearance, and \
             its Wyoming pages; two cells reckoned from the capacity of the class",
    example: "--texture 'silt loam' --feel moist --depth 12in",
    work: |given| {
        let text = given.text("texture");
        let texture = text.parse::<TextureClass>().or_else(|_| texture_class(text))?;
        let feel: Feel = given.text("feel").parse()?;
        let inches = within("a layer", given.number("depth"), 0.1, 120.0, " in")?;
        let soil = Length::from_inches(inches);
        let (capacity, share) = (texture.capacity(), feel.share());
        let (here, lacking) = (available(texture, feel), deficit(texture, feel));
        let ends = |(low, high): (WaterPerDepth, WaterPerDepth)| (low.over(soil).inches(), high.over(soil).inches());
        let metric = |(low, high): (f64, f64)| (low * 25.4, high * 25.4);
        let (least, most) = (capacity.0.inches_per_foot(), capacity.1.inches_per_foot());
        Ok(Answer::default()
            .step(format!("{text} is {}: holds {least:.1} to {most:.1} in/ft", texture.word()))
            .step(format!(
                "{}: {:.0} to {:.0} % of that is there: {:.2} × {least:.1} to {:.2} × {most:.1} = {:.2} to {:.2} in/ft",
                feel.word(),
                share.0 * 100.0,
                share.1 * 100.0,
                share.0,
                share.1,
                here.0.inches_per_foot(),
                here.1.inches_per_foot()
            ))
            .step(format!(
                "lacking by the guide: {:.1} to {:.1} in/ft; × {inches} in / 12",
                lacking.0.inches_per_foot(),
                lacking.1.inches_per_foot()
            ))
            .range("available water", ends(here), 2, "in")
            .range("deficit", ends(lacking), 2, "in")
            .range("available water, metric", metric(ends(here)), 0, "mm")
            .range("deficit, metric", metric(ends(lacking)), 0, "mm")
            .remark("Ranges of the class; with practice the feel is good to about 5 % of the available water.")
            .remark("Feel each foot down to the depth of the roots, at three places or more."))
    },
};

const DEPLETION: Worksheet = Worksheet {
    name: "soil-depletion",
    title: "Share of the available water used up",
    inputs: &[
        Input::required(
            "capacity",
            Takes::Quantity("[in_i]"),
            "Water that the layer holds between wilting and capacity",
        ),
        Input::required("deficit", Takes::Quantity("[in_i]"), "Water that it lacks to capacity"),
    ],
    source: "USDA Natural Resources Conservation Service, Montana, Estimating soil moisture by feel and appearance, \
             example",
    example: "--capacity 1.4in --deficit 1in",
    work: |given| {
        let (capacity, lacking) = (given.number("capacity"), given.number("deficit"));
        // Both are of one layer, so that as if it were a foot thick the share is the same.
        let share =
            depletion(WaterPerDepth::from_inches_per_foot(capacity), WaterPerDepth::from_inches_per_foot(lacking))?;
        Ok(Answer::default()
            .step(format!("{lacking} / {capacity} = {:.1} %", share * 100.0))
            .number("used up", share * 100.0, 0, "%")
            .number("left", capacity - lacking, 2, "in"))
    },
};

const STRUCTURE: Worksheet = Worksheet {
    name: "soil-structure",
    title: "Structure as the public field book names it",
    inputs: &[
        Input::required("grade", Takes::Word(Grade::WORDS), "Grade"),
        Input::optional("type", Takes::Word(Shape::WORDS), "Type, unless structureless"),
        Input::optional("size", Takes::Quantity("mm"), "Size of the units: thickness of plates, diameter of others"),
        Input::usual("system", Takes::Word(SizeSystem::WORDS), "field-book", "Whose size classes"),
    ],
    source: "P. J. Schoeneberger, D. A. Wysocki, E. C. Benham, and Soil Survey Staff (2012), Field book for describing \
             and sampling soils, version 3.0, partly from memory, to be verified; University of California, Santa \
             Cruz, Teaching organic farming and gardening, table 5; Canadian Soil Information Service, glossary, table \
             3",
    example: "--grade moderate --type subangular-blocky --size 15mm",
    work: |given| {
        let grade: Grade = given.text("grade").parse()?;
        let answer = Answer::default().step(format!("grade {}: {}", grade.code(), grade.signs()));
        if grade == Grade::Structureless {
            return Ok(answer.words("structure", "structureless: say whether single grain or massive"));
        }
        let missing = |input, help| Error::Missing { input, help };
        let shape: Shape = given.maybe_text("type").ok_or(missing("type", "Type, unless structureless"))?.parse()?;
        let size = given.maybe("size").ok_or(missing("size", "Size of the units"))?;
        let class = size_class(given.text("system").parse()?, shape, size)?;
        // Plates are thin and thick, not fine and coarse.
        let word = if shape == Shape::Platy {
            class.word().replace("fine", "thin").replace("coarse", "thick")
        } else {
            class.word().to_owned()
        };
        let named = shape.word().replace('-', " ");
        let mut answer = answer
            .step(format!("{size} mm {named}: {word} ({})", given.text("system")))
            .words("structure", format!("{} {word} {named}", grade.word()));
        if shape == Shape::Platy {
            answer = answer.remark("Note its depth: platy structure is the usual sign of a tillage pan.");
        }
        Ok(answer.remark("Names and the largest size class are partly from memory, to be verified."))
    },
};

const RUPTURE: Worksheet = Worksheet {
    name: "rupture-resistance",
    title: "Rupture resistance of a block of soil",
    inputs: &[
        Input::required(
            "force",
            Takes::Number("N"),
            "Least force that breaks a block of 25 to 30 mm; 10 N is about 1 kg",
        ),
        Input::usual("moisture", Takes::Word(Moisture::WORDS), "moist", "Whether the block is moist or dry"),
    ],
    source: "P. J. Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0, from \
             memory, to be verified; Describing soils: calibration tool for teaching soil rupture resistance, \
             abstract",
    example: "--force 25 --moisture moist",
    work: |given| {
        let force = given.number("force");
        let class = rupture_resistance(force)?;
        let name = class.name(given.text("moisture").parse()?);
        let from = class.least_newtons().unwrap_or_default();
        Ok(Answer::default()
            .step(format!("{force} N is at or above {from} N: {name}"))
            .words("rupture resistance", name)
            .remark("Names and forces are from memory, to be verified; 8, 20, 40 and 80 N are published."))
    },
};

const RESIDUE: Worksheet = Worksheet {
    name: "residue-cover",
    title: "Residue cover by line transect",
    inputs: &[
        Input::required("hits", Takes::Number("marks"), "Marks over residue, a number for each transect").many(),
        Input::usual("marks", Takes::Number("marks"), "100", "Marks on the line"),
    ],
    source: "University of Missouri G1570 (1993), Estimating residue by line transect; Kansas State University, \
             Estimating crop residue cover; classes are common practice, no source",
    example: "--hits '44 38 41'",
    work: |given| {
        let whole = |what, number: f64| {
            within(what, number, 0.0, 10_000.0, "").and_then(|n| {
                let came = format!("{n}");
                if n.fract() == 0.0 {
                    Ok(n as u32)
                } else {
                    Err(Error::NoNumber { input: what, unit: "whole marks", came })
                }
            })
        };
        let marks = whole("marks", given.number("marks"))?;
        let hits: Vec<u32> = given.numbers("hits").iter().map(|n| whole("hits", *n)).collect::<Result<_, _>>()?;
        let cover = residue_cover(&hits, marks)?;
        let mut answer = hits.iter().fold(Answer::default(), |answer, found| {
            answer.step(format!("{found} / {marks} = {:.1} %", f64::from(*found) * 100.0 / f64::from(marks)))
        });
        answer = answer.step(format!("mean of {}: {:.1} %", cover.transects, cover.mean * 100.0)).number(
            "residue cover",
            cover.mean * 100.0,
            0,
            "%",
        );
        if let Some((low, high)) = cover.interval {
            answer = answer.range("95 % interval", (low * 100.0, high * 100.0), 0, "%");
        }
        answer = answer
            .words("class", cover.class.word())
            .words("30 % of conservation tillage", if cover.conservation { "reached" } else { "not reached" });
        if cover.transects < 3 {
            answer = answer.remark("Fewer than 3 transects: take 3 to 5 a field, off the headlands.");
        }
        Ok(answer.remark("Readers of a tape tend to count too much: on 60 transects by 10 points."))
    },
};
