//! Collars from other ways of counting leaves, and from the split stalk: always a range.

use std::fmt;

use super::CornStage;
use crate::error::{Error, within};

/// The collar stages that a count made another way may mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CollarRange {
    /// The least developed.
    pub least: CornStage,
    /// The most developed.
    pub most: CornStage,
}

impl CollarRange {
    /// Returns whether a stage is in the range.
    pub fn admits(self, stage: CornStage) -> bool {
        self.least <= stage && stage <= self.most
    }
}

impl fmt::Display for CollarRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.least == self.most { self.least.fmt(f) } else { write!(f, "{} to {}", self.least, self.most) }
    }
}

/// A way of counting corn leaves other than by collars. The leaf with the rounded tip counts as the first in all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LeafCount {
    /// Up to the uppermost leaf that is 40 to 50 % exposed with its tip below the horizontal, as hail adjusters count: one
    /// or two more than collars. *Source:* P. Thomison, Identifying vegetative growth stages in corn, Ohio State
    /// University AGF-127.
    Horizontal,
    /// Leaves that are arched over while the next stands straight. How many more than collars is **from memory, to be
    /// verified**: none to two.
    LeafOver,
    /// Every tip out of the whorl: one to four more than collars, by stage, **from memory, to be verified**.
    LeafTip,
}

words!(LeafCount, "count", { Horizontal => "horizontal", LeafOver => "leaf-over", LeafTip => "leaf-tip" });

/// The last horizontal or leaf-over count for which published offsets agree within a leaf.
const LAST_HORIZONTAL: u8 = 14;

/// Tips beyond collars: first and last collar stage, least and most. From memory, to be verified.
pub(super) const TIPS: [(u8, u8, u8, u8); 3] = [(1, 2, 1, 2), (3, 5, 2, 3), (6, 10, 3, 4)];

impl LeafCount {
    /// How many more leaves it counts at a collar stage, least and most; `None` where nothing is known.
    fn more(self, collars: u8) -> Option<(u8, u8)> {
        match self {
            Self::Horizontal => Some((1, 2)),
            Self::LeafOver => Some((0, 2)),
            Self::LeafTip => TIPS
                .iter()
                .find(|(from, to, ..)| (*from..=*to).contains(&collars))
                .map(|(_, _, least, most)| (*least, *most)),
        }
    }
}

/// Returns the collar stages that a count made another way may mean.
///
/// *Units:* leaves. *Holds:* corn; horizontal counts of 2 to 14 leaves, leaf-over of 1 to 14, tips of 2 to 14: beyond, the
/// sources do not agree. *Errors:* [`Error::OutsideTable`]. *Source:* that of [`LeafCount`]. Plant height tells no stage.
///
/// V6 is 8-leaf to C. Lee (2007), Corn hail damage, University of Kentucky; V4 shows the tips of six leaves (AGF-127):
/// ```
/// use ligule_agronomy::stage::{LeafCount, collars_from};
/// assert_eq!(collars_from(LeafCount::Horizontal, 8)?.to_string(), "V6 to V7");
/// assert!(collars_from(LeafCount::LeafTip, 6)?.admits("V4".parse()?));
/// assert!(collars_from(LeafCount::Horizontal, 15).is_err());
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn collars_from(count: LeafCount, leaves: u8) -> Result<CollarRange, Error> {
    let means = (1..=LAST_HORIZONTAL).filter(|collars| {
        let more = count.more(*collars);
        more.is_some_and(|(least, most)| (collars + least..=collars + most).contains(&leaves))
    });
    let (first, last) = means.fold((None, None), |(first, _), collars| (first.or(Some(collars)), Some(collars)));
    match (first, last) {
        (Some(least), Some(most)) if leaves <= LAST_HORIZONTAL => {
            Ok(CollarRange { least: CornStage::leaf(least)?, most: CornStage::leaf(most)? })
        }
        _ => Err(Error::OutsideTable {
            table: count.word(),
            what: "counts of leaves",
            covers: format!("{} to {LAST_HORIZONTAL}", if count == LeafCount::LeafOver { 1 } else { 2 }),
            came: leaves.to_string(),
        }),
    }
}

/// The leaf at the node above the first stretched internode.
const LEAF_ABOVE_INTERNODE: u8 = 5;

/// The stage of an old plant, from its split stalk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SplitStalk {
    /// The stage by the rule.
    pub stage: CornStage,
    /// What it may be: one collar less or more.
    pub range: CollarRange,
}

/// Returns the stage of a plant whose lower leaves are gone, from its stalk split lengthwise.
///
/// The triangle at the base holds nodes 1 to 4; the first internode above it leads up to node 5, which bears leaf 5. Find
/// its collar and count from there upwards.
///
/// *Units:* collars from that of leaf 5 upwards, with it. *Holds:* corn past about V5; 1 to 26 collars. Early planted corn
/// had 0.5 to 0.8 more unstretched internodes in 2 of 3 years, so the answer may be off by one. *Errors:*
/// [`Error::OutOfRange`]. *Source:* University of Tennessee (2025), Growth staging corn mid-season; Purdue University, Corn
/// growth stages; D. R. Hicks, R. H. Peterson (1978), Agronomy Journal 70:485-488.
///
/// Five collars, of leaves 5 to 9 (computed by hand):
/// ```
/// let found = ligule_agronomy::stage::stage_by_split_stalk(5)?;
/// assert_eq!((found.stage.to_string().as_str(), found.range.to_string().as_str()), ("V9", "V8 to V10"));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn stage_by_split_stalk(collars_from_fifth: u8) -> Result<SplitStalk, Error> {
    within("collars from that of leaf 5 upwards", collars_from_fifth.into(), 1.0, 26.0, "")?;
    let collars = collars_from_fifth + LEAF_ABOVE_INTERNODE - 1;
    Ok(SplitStalk {
        stage: CornStage::leaf(collars)?,
        range: CollarRange { least: CornStage::leaf(collars - 1)?, most: CornStage::leaf((collars + 1).min(30))? },
    })
}
