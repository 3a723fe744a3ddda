//! The thresholds as worksheets. Every one that bears on a treatment shows the cautions.

use crate::catalogue::Worksheet;

mod borers;
mod money;
mod pests;
mod sequential;

pub(crate) const WORKSHEETS: &[Worksheet] = &[
    money::INJURY_LEVEL,
    money::BREAK_EVEN,
    money::SPIDER_MITES,
    borers::CORN_BORER,
    borers::STALK_BORER,
    sequential::WALD,
    sequential::APHIDS,
    sequential::STINK_BUGS,
    pests::PEST_THRESHOLD,
    pests::INSECT_DAYS,
    pests::CUTWORM_STAGE,
];
