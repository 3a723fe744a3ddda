//! Seed depth as worksheets and tables.

use ligule_units::Length;

use super::{CROWN_DEPTH_INCHES, DepthWarning, depth_summary, depth_warnings, seed_depth};
use crate::catalogue::{Answer, Input, Origin, Table, Takes, Worksheet};
use crate::error::Error;

const INCH: Takes = Takes::Quantity("[in_i]");

pub(crate) const WORKSHEETS: &[Worksheet] = &[SEED_DEPTH];

const SEED_DEPTH: Worksheet = Worksheet {
    name: "seed-depth",
    title: "Seed depth of dug plants against the planter's setting",
    inputs: &[
        Input::optional("seed-to-crown", INCH, "Seed to crown of each plant; ¾ in is added").many(),
        Input::optional("depths", INCH, "Instead: seed to surface of each plant").many(),
        Input::usual("set", INCH, "2in", "Depth that the planter was set to"),
    ],
    source: "G. LaBarge (2023), Corn planting depth and emergence problems, Ohio State University; R. L. Nielsen (2022), Rootless \
             or floppy corn syndrome, Purdue University; E. Nafziger, University of Illinois, quoted 17 April 2013",
    example: "--seed-to-crown '1 1.25 0.75 1.5 1.25' --set 2in",
    work: |given| {
        let lengths = |name| given.numbers(name).iter().copied().map(Length::from_inches).collect::<Vec<_>>();
        let (stems, depths) = (lengths("seed-to-crown"), lengths("depths"));
        let by_crown = !stems.is_empty();
        if by_crown != depths.is_empty() {
            return Err(Error::Missing { input: "seed-to-crown", help: "seed-to-crown or depths, one of the two" });
        }
        let depths = if by_crown { stems.into_iter().map(seed_depth).collect::<Result<_, _>>()? } else { depths };
        let set = given.inches("set");
        let found = depth_summary(&depths, set)?;
        let mut answer = Answer::default();
        if by_crown {
            answer = answer.step(format!("seed to crown + {CROWN_DEPTH_INCHES} in"));
        }
        answer = answer
            .step(format!("mean of {} plants {:.3} in, set {} in", found.plants, found.mean.inches(), set.inches()))
            .number("mean depth", found.mean.inches(), 2, "in")
            .number("beyond the setting", found.mean.inches() - set.inches(), 2, "in");
        if let Some(sd) = found.sd {
            answer = answer.number("standard deviation", sd.inches(), 2, "in");
        }
        answer = answer
            .number("over ¼ in off", found.share_off_quarter_inch * 100.0, 0, "%")
            .number("over ½ in off", found.share_off_half_inch * 100.0, 0, "%")
            .number("shallower than 1¼ in", found.too_shallow as f64, 0, "plants");
        for warning in depth_warnings(&found, set)? {
            answer =
                answer.remark(format!("{} ({}: {})", warning.words(), warning.source().0.words(), warning.source().1));
        }
        if found.plants < 10 {
            answer = answer.remark("Fewer than 10 plants: dig 10 in a row (common practice, no source).");
        }
        Ok(answer)
    },
};

pub(crate) fn tables() -> Vec<Table> {
    let crown = "R. L. Nielsen (2022), Rootless or floppy corn syndrome, Purdue University";
    let extension = "extension services and farm press; no single source";
    let limits = Table::new(
        "depth-limits",
        "Limits of corn seed depth",
        "The crown is shallower where seed lay shallower than about 1¼ in.",
        ["what", "value"],
    )
    .row(["depth of the crown".into(), format!("{CROWN_DEPTH_INCHES} in").into()], Origin::Page, crown)
    .row(["usual target".into(), "1½ to 2 in".into()], Origin::Page, extension);
    vec![DepthWarning::ALL.into_iter().fold(limits, |table, warning| {
        let (origin, source) = warning.source();
        table.row(["warning".into(), warning.words().into()], origin, source)
    })]
}
