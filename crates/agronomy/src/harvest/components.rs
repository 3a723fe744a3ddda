//! Yield before harvest, from ears, kernel rows and kernels.

use crate::catalogue::Origin;
use crate::error::{Error, within};

/// How many thousand kernels make a bushel, and for what crop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KernelFactor {
    /// Thousand kernels a bushel.
    pub thousand: f64,
    /// For what crop.
    pub says: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

const NIELSEN: &str =
    "R. L. Nielsen, Purdue University, quoted in the farm press on kernel depth and on late-season weather";
const CLASSIC: &str = "Extension Foundation, How can you estimate corn yield prior to harvest?";
const ROTH: &str = "G. Roth (2014), Corn yields and kernel size, Penn State University";

/// The published kernel factors, from large kernels to small; they are contested, and none fits every year.
pub const KERNEL_FACTORS: [KernelFactor; 7] = [
    KernelFactor { thousand: 70.0, says: "large kernels, very good fill", origin: Origin::Page, source: NIELSEN },
    KernelFactor { thousand: 75.0, says: "good fill", origin: Origin::Page, source: NIELSEN },
    KernelFactor { thousand: 80.0, says: "modern hybrids", origin: Origin::Page, source: NIELSEN },
    KernelFactor { thousand: 85.0, says: "modern hybrids", origin: Origin::Page, source: NIELSEN },
    KernelFactor { thousand: 90.0, says: "the classic factor", origin: Origin::Page, source: CLASSIC },
    KernelFactor { thousand: 100.0, says: "small kernels", origin: Origin::Page, source: ROTH },
    KernelFactor { thousand: 110.0, says: "dry year, small kernels", origin: Origin::Page, source: CLASSIC },
];

/// The factor that is taken unless someone chooses another. Common practice, no source.
pub const USUAL_KERNEL_FACTOR: f64 = 85.0;

/// Grams of a 56-lb bushel, 25,401, over ten: 100 kernels are weighed, and thousands are counted.
const GRAMS: f64 = 2540.0;

/// Returns the kernel factor, thousand kernels a bushel, from the weight of 100 kernels at 15.5 % moisture.
///
/// *Units:* grams; thousands a bushel. *Holds:* 10 to 60 g; measured kernels ran 25 to 36 g. *Errors:*
/// [`Error::OutOfRange`]. *Source:* G. Roth (2014), Corn yields and kernel size, Penn State University.
///
/// 28.0 g, printed as 90.7:
/// ```
/// let factor = ligule_agronomy::harvest::kernel_factor(28.0)?;
/// assert!((factor - 90.7).abs() < 0.05);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn kernel_factor(grams_per_100: f64) -> Result<f64, Error> {
    Ok(GRAMS / within("the weight of 100 kernels", grams_per_100, 10.0, 60.0, " g")?)
}

/// Returns the yield that is standing in the field, from the ears on a thousandth of an acre and their kernels.
///
/// Count ears that will be harvested; take kernel rows and kernels on every fifth ear, without tip and butt kernels
/// under half size (Ohio State University); do it at 5 to 10 places. The error is commonly 20 bu/ac either way (from
/// memory, to be verified), most of it from the kernel factor: see [`component_yield_range`].
///
/// *Units:* ears, rows, kernels a row; thousand kernels a bushel; bu/ac at 15.5 %. *Holds:* from the milk stage (R3)
/// on. *Errors:* [`Error::OutOfRange`]. *Source:* R. L. Nielsen (2021), Estimating corn grain yield prior to harvest,
/// Purdue University.
///
/// 35 ears of 16 rows of 36 kernels at 90, printed as 224:
/// ```
/// let bushels = ligule_agronomy::harvest::component_yield(35.0, 16.0, 36.0, 90.0)?;
/// assert!((bushels - 224.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn component_yield(ears: f64, rows: f64, kernels: f64, thousand_a_bushel: f64) -> Result<f64, Error> {
    let ears = within("ears on a thousandth of an acre", ears, 0.0, 100.0, "")?;
    let rows = within("kernel rows", rows, 0.0, 30.0, "")?;
    let kernels = within("kernels in a row", kernels, 0.0, 80.0, "")?;
    Ok(ears * rows * kernels / within("a kernel factor", thousand_a_bushel, 50.0, 150.0, "")?)
}

/// Returns the yield at the greatest and at the least published kernel factor: the range to show beside any one number.
///
/// *Units* and *errors:* as [`component_yield`]. *Source:* [`KERNEL_FACTORS`].
///
/// 32 ears of 16 rows of 35 kernels at 110 and at 70 (computed by hand; Penn State prints 256 at 70):
/// ```
/// let (least, most) = ligule_agronomy::harvest::component_yield_range(32.0, 16.0, 35.0)?;
/// assert!((least - 162.9).abs() < 0.05 && (most - 256.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn component_yield_range(ears: f64, rows: f64, kernels: f64) -> Result<(f64, f64), Error> {
    let [first, .., last] = &KERNEL_FACTORS;
    Ok((component_yield(ears, rows, kernels, last.thousand)?, component_yield(ears, rows, kernels, first.thousand)?))
}
