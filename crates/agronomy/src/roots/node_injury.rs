//! Rootworm injury: the node-injury scale, its older neighbour, and the yield that it costs.

use crate::catalogue::Origin;
use crate::error::{Error, within};
use crate::statistics;

/// Node injury up to which roots count as well protected. *Source:* Iowa State University, Integrated Crop Management,
/// 17 March 2003, New method for understanding corn rootworm injury.
pub const WELL_PROTECTED: f64 = 0.25;

/// Roots to rate in a field at the least. Common practice, no source.
pub(super) const USUAL_ROOTS: usize = 10;

/// The highest rating: three nodes or more.
const HIGHEST: f64 = 3.0;

/// Whose loss of yield for each node of roots is taken. Sources differ, and the scatter around both is large.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NodeLossStudy {
    /// 15 % a node. *Source:* N. A. Tinsley, R. E. Estes, M. E. Gray (2013), Validation of a nested error component
    /// model to estimate damage caused by corn rootworm larvae, Journal of Applied Entomology,
    /// doi 10.1111/j.1439-0418.2012.01776.x; University of Illinois, 10 December 2012, Quantifying corn rootworm
    /// damage.
    Tinsley,
    /// 17.9 % a node, **from memory, to be verified**. *Source:* Z. Dun, P. D. Mitchell, M. Agosti (2010), Estimating
    /// *Diabrotica virgifera virgifera* damage functions with field trial data, Journal of Applied Entomology 134.
    Dun,
}

words!(NodeLossStudy, "study", { Tinsley => "tinsley-2013", Dun => "dun-2010" });

impl NodeLossStudy {
    /// Loss a node as a share of yield, origin, source.
    pub(super) const fn a_node(self) -> (f64, Origin, &'static str) {
        match self {
            Self::Tinsley => (
                0.15,
                Origin::Page,
                "N. A. Tinsley, R. E. Estes, M. E. Gray (2013), Validation of a nested error component model to \
                 estimate damage caused by corn rootworm larvae, Journal of Applied Entomology, doi \
                 10.1111/j.1439-0418.2012.01776.x",
            ),
            Self::Dun => (
                0.179,
                Origin::Memory,
                "Z. Dun, P. D. Mitchell, M. Agosti (2010), Estimating Diabrotica virgifera virgifera damage functions, \
                 Journal of Applied Entomology 134; from memory, to be verified",
            ),
        }
    }
}

/// The node injury of several roots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NodeInjury {
    /// How many roots were rated.
    pub roots: usize,
    /// The mean rating, 0 to 3.
    pub mean: f64,
    /// The standard deviation of the ratings (n − 1); from two roots on.
    pub sd: Option<f64>,
    /// The share of roots rated 0.25 or less.
    pub share_well_protected: f64,
    /// The highest rating.
    pub highest: f64,
}

/// Returns the mean node injury of rated roots.
///
/// A rating is the number of nodes whose roots are eaten to within about 1½ in of the stalk, with decimals for parts of
/// a node: 0 no feeding, 0.25 a quarter of a node, 3 three nodes or more. (Pages of Iowa State University of 2002 and
/// of the University of Nebraska print 2 in instead of 1½.)
///
/// *Units:* ratings, one a root. *Holds:* 0 to 3; rate 10 roots or more (common practice, no source). *Errors:*
/// [`Error::TooFew`] without roots, [`Error::OutOfRange`]. *Source:* J. D. Oleson, Y.-L. Park, T. M. Nowatzki,
/// J. J. Tollefson (2005), Node-injury scale to evaluate root injury by corn rootworms, Journal of Economic Entomology
/// 98(1):1-8.
///
/// Four roots (computed by hand):
/// ```
/// let found = ligule_agronomy::roots::node_injury(&[0.0, 0.25, 0.75, 2.0])?;
/// assert_eq!((found.mean, found.share_well_protected, found.highest), (0.75, 0.5, 2.0));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn node_injury(ratings: &[f64]) -> Result<NodeInjury, Error> {
    if ratings.is_empty() {
        return Err(Error::TooFew { what: "rated roots", needed: 1, came: 0 });
    }
    for rating in ratings {
        valid_rating(*rating)?;
    }
    let protected = ratings.iter().filter(|rating| **rating <= WELL_PROTECTED).count();
    Ok(NodeInjury {
        roots: ratings.len(),
        mean: statistics::mean(ratings)?,
        sd: statistics::sample_sd(ratings).ok(),
        share_well_protected: protected as f64 / ratings.len() as f64,
        highest: ratings.iter().copied().fold(0.0, f64::max),
    })
}

/// Returns the share of yield that a node injury costs.
///
/// *Units:* nodes in, a share of yield out. *Holds:* 0 to 3; on a line through no loss. Weather, lodging and hybrid
/// move single fields far from the line. *Errors:* [`Error::OutOfRange`]. *Source:* that of [`NodeLossStudy`].
///
/// One and a half nodes: 1.5 × 15 = 22.5 %:
/// ```
/// use ligule_agronomy::roots::{NodeLossStudy, injury_loss};
/// assert!((injury_loss(1.5, NodeLossStudy::Tinsley)? - 0.225).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn injury_loss(nodes: f64, study: NodeLossStudy) -> Result<f64, Error> {
    Ok(valid_rating(nodes)? * study.a_node().0)
}

/// Returns the ratings of the old 1-6 scale that a node injury may have been given, from and to.
///
/// Of the old classes, 1 and 2 have no node eaten, 3 several roots but less than a node, 4 one node, 5 two, 6 three or
/// more. So between whole nodes there is a range and no number: any part of a first node is 2 or 3, and 4 needs the whole
/// node; 0.25 is about 2.5 by Iowa State University (2003). Holds for one root: a mean of roots is the mean of theirs.
///
/// *Holds:* 0 to 3. *Errors:* [`Error::OutOfRange`]. *Source:* T. M. Hills and D. C. Peters (1971), Journal of
/// Economic Entomology 64:764-765, and Oleson et al. (2005), both as printed by Iowa State University; the ranges
/// reckoned from the classes.
///
/// ```
/// use ligule_agronomy::roots::to_old_scale;
/// let ratings = [0.0, 0.25, 1.0, 1.5, 3.0].map(|nodes| to_old_scale(nodes).unwrap());
/// assert_eq!(ratings, [(1.0, 2.0), (2.0, 3.0), (4.0, 4.0), (4.0, 5.0), (6.0, 6.0)]);
/// ```
pub fn to_old_scale(nodes: f64) -> Result<(f64, f64), Error> {
    let nodes = valid_rating(nodes)?;
    Ok(if nodes <= 0.0 {
        (1.0, 2.0)
    } else if nodes < 1.0 {
        (2.0, 3.0)
    } else {
        (3.0 + nodes.floor().min(HIGHEST), 3.0 + nodes.ceil().min(HIGHEST))
    })
}

/// Returns the node injuries that a rating of the old 1-6 scale may mean, from and to.
///
/// *Holds:* 1 to 6. *Errors:* [`Error::OutOfRange`]. *Source:* as [`to_old_scale`].
///
/// ```
/// use ligule_agronomy::roots::from_old_scale;
/// let nodes = [1.5, 2.5, 4.0, 4.5].map(|rating| from_old_scale(rating).unwrap());
/// assert_eq!(nodes, [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 2.0)]);
/// ```
pub fn from_old_scale(rating: f64) -> Result<(f64, f64), Error> {
    let rating = within("a rating of the 1-6 scale", rating, 1.0, 6.0, "")?.clamp(1.0, 6.0);
    Ok(if rating <= 2.0 {
        (0.0, 0.0)
    } else if rating < 4.0 {
        (0.0, 1.0)
    } else {
        (rating.floor() - 3.0, rating.ceil() - 3.0)
    })
}

fn valid_rating(nodes: f64) -> Result<f64, Error> {
    within("a node injury", nodes, 0.0, HIGHEST, "").map(|nodes| nodes.clamp(0.0, HIGHEST))
}
