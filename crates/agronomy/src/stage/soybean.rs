//! Soybean stages by nodes and by pods.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use crate::error::Error;

const EXPECTED: &str = "VE, VC, V1 to V30, R1 to R8";

/// A growth stage of soybean.
///
/// V*n* is a plant with *n* nodes on the main stem that have fully developed leaves, the unifoliolate node counted as
/// the first; a leaf is fully developed when the leaf above it has unrolled its leaflets. R1 is one open flower, R8
/// pods of mature colour (W. R. Fehr and C. E. Caviness, 1977, Stages of soybean development, Iowa State University
/// Special Report 80).
///
/// # Comparing
/// A plant has a V and an R stage at the same time, so only stages of one scale have an order.
/// ```
/// use ligule_agronomy::stage::SoybeanStage;
/// let [vc, v6, r1, r2]: [SoybeanStage; 4] = ["VC", "V6", "R1", "R2"].map(|s| s.parse().unwrap());
/// assert!(vc < v6 && r1 < r2);
/// assert_eq!(v6.partial_cmp(&r1), None);
/// assert_eq!(v6.to_string(), "V6");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SoybeanStage {
    /// Emergence: cotyledons above the soil.
    Emergence,
    /// Unifoliolate leaves unrolled.
    Cotyledon,
    /// That many nodes with fully developed leaves, 1 to 30.
    Node(u8),
    /// The reproductive stage of that number, 1 to 8.
    Reproductive(u8),
}

impl PartialOrd for SoybeanStage {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        let place = |stage: &Self| match *stage {
            Self::Emergence => (false, 0),
            Self::Cotyledon => (false, 1),
            Self::Node(n) => (false, u16::from(n) + 1),
            Self::Reproductive(n) => (true, n.into()),
        };
        let ((scale, here), (other_scale, there)) = (place(self), place(other));
        (scale == other_scale).then(|| here.cmp(&there))
    }
}

impl fmt::Display for SoybeanStage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Emergence => f.write_str("VE"),
            Self::Cotyledon => f.write_str("VC"),
            Self::Node(n) => write!(f, "V{n}"),
            Self::Reproductive(n) => write!(f, "R{n}"),
        }
    }
}

impl FromStr for SoybeanStage {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let upper = text.trim().to_ascii_uppercase();
        let number = |digits: &str, most: u8| {
            let plain = !digits.starts_with(['0', '+']);
            digits.parse::<u8>().ok().filter(|n| plain && (1..=most).contains(n))
        };
        let stage = match upper.as_str() {
            "VE" => Some(Self::Emergence),
            "VC" => Some(Self::Cotyledon),
            other => {
                let node = other.strip_prefix('V').and_then(|d| number(d, 30)).map(Self::Node);
                node.or_else(|| other.strip_prefix('R').and_then(|d| number(d, 8)).map(Self::Reproductive))
            }
        };
        stage.ok_or_else(|| Error::UnknownStage { crop: "soybean", expected: EXPECTED, came: text.to_owned() })
    }
}
