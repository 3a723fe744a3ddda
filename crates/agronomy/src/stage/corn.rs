//! Corn stages by leaf collars.

use std::fmt;
use std::str::FromStr;

use crate::error::{Error, within};

const EXPECTED: &str = "VE, V1 to V30, VT, R1 to R6; corn has no VC";
const LAST_LEAF: u8 = 30;
const TASSEL: u8 = LAST_LEAF + 1;

/// A growth stage of corn on the leaf-collar scale.
///
/// V*n* is a plant with *n* visible leaf collars, counted from the short leaf with the rounded tip at the bottom;
/// leaves in the whorl without a collar do not count (R. L. Nielsen, 2019, Determining corn leaf stages, Purdue
/// University; P. Thomison, Identifying vegetative growth stages in corn, Ohio State University AGF-127). VE is
/// emergence, VT the whole tassel out, R1 to R6 silk, blister, milk, dough, dent, black layer.
///
/// # Reading and writing
/// ```
/// use ligule_agronomy::stage::CornStage;
/// let stage: CornStage = "v4".parse()?;
/// assert_eq!(stage.to_string(), "V4");
/// assert_eq!(stage.collars(), Some(4));
/// assert_eq!(
///     "VC".parse::<CornStage>().unwrap_err().to_string(),
///     "expected a corn stage (VE, V1 to V30, VT, R1 to R6; corn has no VC), got `VC`"
/// );
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
///
/// # Comparing
/// Later stages are greater. The last V stage of a hybrid differs (commonly V18 to V21), so VT follows whatever it is.
/// ```
/// use ligule_agronomy::stage::CornStage;
/// assert!(CornStage::VE < CornStage::leaf(1)? && CornStage::leaf(21)? < CornStage::VT);
/// assert!(CornStage::VT < CornStage::reproductive(1)?);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CornStage(u8);

impl CornStage {
    /// Emergence: the plant is through the surface, no collar yet.
    pub const VE: Self = Self(0);
    /// The last branch of the tassel is out, silks are not.
    pub const VT: Self = Self(TASSEL);

    /// Returns the stage with that many leaf collars; 0 is [`CornStage::VE`].
    ///
    /// *Errors:* [`Error::OutOfRange`] over 30.
    pub fn leaf(collars: u8) -> Result<Self, Error> {
        within("a number of leaf collars", collars.into(), 0.0, LAST_LEAF.into(), "")?;
        Ok(Self(collars))
    }

    /// Returns the reproductive stage R`number`.
    ///
    /// *Errors:* [`Error::OutOfRange`] outside 1 to 6.
    pub fn reproductive(number: u8) -> Result<Self, Error> {
        within("the number of an R stage", number.into(), 1.0, 6.0, "")?;
        Ok(Self(TASSEL + number))
    }

    /// Returns the number of leaf collars; `None` from VT on, when they are no longer counted.
    pub const fn collars(self) -> Option<u8> {
        if self.0 <= LAST_LEAF { Some(self.0) } else { None }
    }

    /// Returns the number of the R stage, 1 to 6; `None` before silk.
    pub const fn reproductive_number(self) -> Option<u8> {
        if self.0 > TASSEL { Some(self.0 - TASSEL) } else { None }
    }
}

impl fmt::Display for CornStage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            0 => f.write_str("VE"),
            TASSEL => f.write_str("VT"),
            n if n < TASSEL => write!(f, "V{n}"),
            n => write!(f, "R{}", n - TASSEL),
        }
    }
}

impl FromStr for CornStage {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let unknown = || Error::UnknownStage { crop: "corn", expected: EXPECTED, came: text.to_owned() };
        let upper = text.trim().to_ascii_uppercase();
        let number = |digits: &str| digits.parse::<u8>().ok().filter(|n| *n > 0 && !digits.starts_with(['0', '+']));
        match upper.as_str() {
            "VE" => Ok(Self::VE),
            "VT" => Ok(Self::VT),
            other => {
                let leaf = other.strip_prefix('V').and_then(number).and_then(|n| Self::leaf(n).ok());
                let reproductive = || other.strip_prefix('R').and_then(number).and_then(|n| Self::reproductive(n).ok());
                leaf.or_else(reproductive).ok_or_else(unknown)
            }
        }
    }
}
