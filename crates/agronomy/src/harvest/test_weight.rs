//! Test weight: how dense grain lies.

use super::plot::KILOGRAMS;
use crate::catalogue::Origin;
use crate::error::{Error, within};

/// Hectolitres of a US bushel as a volume: 2,150.42 cubic inches.
const HECTOLITRES: f64 = 0.352_390_701_668_8;

/// Least test weight of each US grade of corn, lb/bu.
pub(super) const GRADES: [(&str, f64, Origin, &str); 5] = [
    ("US No. 1", 56.0, Origin::Page, FGIS),
    ("US No. 2", 54.0, Origin::Page, FGIS),
    ("US No. 3", 52.0, Origin::Memory, RECALLED),
    ("US No. 4", 49.0, Origin::Memory, RECALLED),
    ("US No. 5", 46.0, Origin::Memory, RECALLED),
];

const FGIS: &str =
    "United States standards for corn, Federal Grain Inspection Service, as quoted by an agronomist's page";
const RECALLED: &str = "United States standards for corn, 7 CFR 810.404, from memory, to be verified";

/// Returns a test weight in kilograms per hectolitre.
///
/// *Units:* lb/bu in, kg/hL out. *Holds:* 20 to 80 lb/bu. *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic: a
/// bushel of volume is 2,150.42 cubic inches.
///
/// ```
/// let metric = ligule_agronomy::harvest::test_weight_metric(56.0)?;
/// assert!((metric - 56.0 * 1.287).abs() < 0.02);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn test_weight_metric(pounds_a_bushel: f64) -> Result<f64, Error> {
    Ok(within("a test weight", pounds_a_bushel, 20.0, 80.0, " lb/bu")? * KILOGRAMS / HECTOLITRES)
}

/// Returns the best US grade of corn that a test weight still reaches, and whether that grade's limit is sure.
///
/// Other factors of the grade, such as damaged kernels and foreign material, may put it lower. Test weight is
/// density, not yield: what is sold is weighed.
///
/// *Units:* lb/bu. *Holds:* corn; 20 to 80 lb/bu; nothing below 46 lb/bu. *Errors:* [`Error::OutOfRange`]. *Source:*
/// United States standards for corn; No. 3 to No. 5 from memory, to be verified.
///
/// ```
/// use ligule_agronomy::catalogue::Origin;
/// use ligule_agronomy::harvest::test_weight_grade;
/// assert_eq!(test_weight_grade(55.0)?, Some(("US No. 2", Origin::Page)));
/// assert_eq!(test_weight_grade(45.0)?, None);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn test_weight_grade(pounds_a_bushel: f64) -> Result<Option<(&'static str, Origin)>, Error> {
    let weight = within("a test weight", pounds_a_bushel, 20.0, 80.0, " lb/bu")?;
    Ok(GRADES.iter().find(|grade| weight >= grade.1).map(|grade| (grade.0, grade.2)))
}
