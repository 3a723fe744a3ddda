//! What an assessment says: plain numbers, what each rests on, and where its formula comes from.

use jiff::civil::Date;
use ligule_advice::Citation;
use ligule_observation::ids::ObservationKey;
use serde::Serialize;

/// What the records of one field and season say on a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FieldAssessment {
    /// The feature: `field:01J…`.
    pub feature: String,
    /// Year of harvest.
    pub season: i32,
    /// The crop; empty where it is not known.
    pub crop: String,
    /// The day on which this is said; later observations are left out.
    pub as_of: Date,
    /// The latest planting, by the day on which it was done.
    pub planting: Option<Planting>,
    /// The stand, by the latest counts.
    pub stand: Option<Stand>,
    /// How evenly plants stand within the row, by the latest day with readings of a tape.
    pub spacing: Option<Spacing>,
    /// The growth stage, by the latest visit that recorded it.
    pub stage: Option<Stage>,
    /// The height of the crop.
    pub height: Option<Height>,
    /// The seeding depth.
    pub seed_depth: Option<SeedDepth>,
    /// Degree days since planting.
    pub degree_days: Option<DegreeDays>,
    /// What hail and frost left, by the latest look at the latest of each.
    pub damages: Vec<Damage>,
    /// Insects, one entry for each organism.
    pub pests: Vec<Pest>,
    /// Diseases, one entry for each organism.
    pub diseases: Vec<Disease>,
    /// Weeds, one entry for each species.
    pub weeds: Vec<Weed>,
    /// The last check of the soil.
    pub soil: Option<LastCheck>,
    /// The last check of the roots.
    pub roots: Option<LastCheck>,
    /// What the field may yield.
    pub yield_estimate: Option<YieldEstimate>,
    /// What came off the field.
    pub harvest: Option<Harvest>,
    /// Notes, the latest first.
    pub notes: Vec<Note>,
    /// What keeps people out of the field, or may; filled in by [`crate::Engine::assess`].
    pub reentry: Option<crate::Reentry>,
    /// Values that were left out, and why, a sentence each.
    pub set_aside: Vec<SetAside>,
    /// Observations that were voided, and so are in no number here.
    pub voided: usize,
    /// What could not be assessed, and what would be needed, a sentence each.
    pub lacking: Vec<String>,
}

/// A value that was left out of every number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SetAside {
    /// The observation.
    pub observation: ObservationKey,
    /// The measure.
    pub measure: String,
    /// Why, a sentence.
    pub why: String,
}

/// When and how the field was planted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Planting {
    /// The day.
    pub day: Date,
    /// Days from planting to the day of the assessment.
    pub days_ago: i32,
    /// Seeds dropped per acre.
    pub seeds_per_acre: Option<f64>,
    /// Distance between rows, inches.
    pub row_width_in: Option<f64>,
    /// Intended depth of the seed, inches.
    pub target_depth_in: Option<f64>,
    /// Relative maturity: days of corn, maturity group of soybean.
    pub relative_maturity: Option<f64>,
    /// Cautions about it, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
}

/// Plants per acre, by the counts of the latest days of counting.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stand {
    /// First and last day of the counts that were pooled.
    pub days: (Date, Date),
    /// The counts, in order of time.
    pub counts: Vec<StandCount>,
    /// Mean, plants per acre.
    pub plants_per_acre: f64,
    /// 95 % interval of the mean by Student's t, plants per acre; none with one count.
    pub interval_95: Option<(f64, f64)>,
    /// Standard deviation of the counts (n − 1), plants per acre; none with one count.
    pub standard_deviation: Option<f64>,
    /// Coefficient of variation, per cent; none with one count.
    pub variation_percent: Option<f64>,
    /// How many more counts are needed for a 95 % interval of ± 5 % of the mean, the variation being as it is.
    pub more_counts_for_5_percent: Option<u32>,
    /// The same for ± 10 %.
    pub more_counts_for_10_percent: Option<u32>,
    /// Stand as a share of the seeds dropped, per cent.
    pub share_of_seeds_percent: Option<f64>,
    /// Cautions about this number, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formulas come from.
    pub sources: Vec<Citation>,
}

/// One count of plants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandCount {
    /// The observation.
    pub observation: ObservationKey,
    /// The day.
    pub day: Date,
    /// Plants counted.
    pub plants: f64,
    /// What was counted: `17.42 ft at 30 in`.
    pub sample: String,
    /// Plants per acre.
    pub plants_per_acre: f64,
}

/// The growth stage of the field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stage {
    /// The day.
    pub day: Date,
    /// The stage that at least half of the plants have reached.
    pub field_stage: String,
    /// The least and most advanced plant.
    pub spread: (String, String),
    /// Plants by stage, in order of development.
    pub plants: Vec<(String, u32)>,
    /// Least and greatest BBCH code that may be scored for the field stage.
    pub bbch: Option<(u8, u8)>,
    /// Share of plants two or more collars behind the median, per cent.
    pub behind_percent: Option<f64>,
    /// Cautions about this number, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the definitions come from.
    pub sources: Vec<Citation>,
}

/// The depth at which seeds lie.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeedDepth {
    /// Seeds or plants measured.
    pub seeds: usize,
    /// Mean, inches.
    pub mean_in: f64,
    /// Standard deviation (n − 1), inches; none with one seed.
    pub standard_deviation_in: Option<f64>,
    /// Least and greatest, inches.
    pub range_in: (f64, f64),
    /// Intended depth, inches.
    pub target_in: Option<f64>,
    /// Share of seeds more than a quarter of an inch off the target, per cent.
    pub beyond_quarter_inch_percent: Option<f64>,
    /// Share of seeds more than half an inch off the target, per cent.
    pub beyond_half_inch_percent: Option<f64>,
    /// Cautions about this number, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the rules come from.
    pub sources: Vec<Citation>,
}

/// Degree days since planting.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DegreeDays {
    /// The weather station whose days were added up.
    pub station: String,
    /// The method with its thresholds, as the trade says it: `86/50 °F modified average`.
    pub method: String,
    /// First day that counts.
    pub from: Date,
    /// Last day that counts and for which there is weather.
    pub to: Date,
    /// Sum, °F · day.
    pub total_f: f64,
    /// Days in the sum.
    pub days: usize,
    /// Days that would count but lack a temperature; they add nothing to the sum.
    pub missing_days: usize,
    /// The sum at the end of each day with weather.
    pub course: Vec<(Date, f64)>,
    /// The days on which stages were to be expected, by the first of the rates; what a plot marks.
    pub marks: Vec<StageMark>,
    /// The stage that the sum lets one expect, by each published rate; empty when too many days are missing.
    pub expected: Vec<ExpectedStage>,
    /// Cautions about this number, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on: the planting (the weather is named by station and day).
    pub rests_on: Vec<ObservationKey>,
    /// Where the formulas come from.
    pub sources: Vec<Citation>,
}

/// The first day on which the sum of degree days let one expect a stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageMark {
    /// The stage.
    pub stage: String,
    /// The day.
    pub day: Date,
    /// The sum at the end of that day, °F · day.
    pub degree_days_f: f64,
}

/// A stage expected from degree days.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExpectedStage {
    /// Whose rate it is.
    pub rate: String,
    /// Expected stage.
    pub stage: String,
    /// The band to be shown: one collar on either side.
    pub band: (String, String),
}

/// What an organism did to the plants examined.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pest {
    /// The organism, as its code in the records.
    pub organism: String,
    /// The organism as people read it, where the kind's choices name it.
    pub label: String,
    /// The latest day with a count that can be used.
    pub day: Date,
    /// Plants damaged, those cut included, where they were counted.
    pub damaged: Option<Share>,
    /// Plants cut, where they were counted.
    pub cut: Option<Share>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formula comes from.
    pub sources: Vec<Citation>,
}

/// Plants of one kind among those examined for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// What was counted, by the label of its measure: `Plants cut`.
    pub label: String,
    /// The same within a sentence: in English the flag of its measure, `cut`; else the label in small letters.
    pub word: String,
    /// Plants found so.
    pub plants: u32,
    /// Plants examined where that was counted.
    pub examined: u32,
    /// Their share, per cent.
    pub percent: f64,
    /// 95 % interval of the share by Wilson's score, per cent.
    pub interval_95: Option<(f64, f64)>,
}

/// A weed as last seen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weed {
    /// The species, as its code in the records.
    pub organism: String,
    /// The species as people read it.
    pub label: String,
    /// The latest day with a record that can be used.
    pub day: Date,
    /// Spots looked at on that day.
    pub spots: u32,
    /// Spots where it stood: those recorded without a density of zero.
    pub spots_with_it: u32,
    /// 95 % interval of the share of spots where it stands, by Wilson's score, per cent.
    pub interval_95: Option<(f64, f64)>,
    /// Mean density over the spots with a density, plants per square foot.
    pub per_square_foot: Option<f64>,
    /// Greatest height recorded on that day, inches.
    pub tallest_in: Option<f64>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formula comes from.
    pub sources: Vec<Citation>,
}

/// The last observation of a kind, as people read it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LastCheck {
    /// The day.
    pub day: Date,
    /// Label and value of each measure.
    pub values: Vec<(String, String)>,
    /// The observation.
    pub rests_on: Vec<ObservationKey>,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Note {
    /// The day.
    pub day: Date,
    /// The person.
    pub by: String,
    /// The text.
    pub text: String,
    /// The observation.
    pub observation: ObservationKey,
}

/// How evenly plants stand within the row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spacing {
    /// The day.
    pub day: Date,
    /// Places with readings.
    pub places: usize,
    /// Gaps between plants, over all places.
    pub gaps: usize,
    /// Mean gap, inches.
    pub mean_in: f64,
    /// Standard deviation of the gaps (n − 1), inches; none with one gap.
    pub standard_deviation_in: Option<f64>,
    /// The spacing intended, inches.
    pub intended_in: Option<f64>,
    /// Share of gaps up to half the spacing intended, per cent.
    pub doubles_percent: Option<f64>,
    /// Share of gaps over one and a half times the spacing intended, per cent.
    pub skips_percent: Option<f64>,
    /// What uneven spacing costs, by each study that speaks of such a spread; they do not agree.
    pub losses: Vec<SpacingLoss>,
    /// Cautions about these numbers, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the rules come from.
    pub sources: Vec<Citation>,
}

/// What uneven spacing costs by one study.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpacingLoss {
    /// The study, as `ligule table spacing-loss` names it.
    pub study: String,
    /// The loss, bushels an acre.
    pub bushels_per_acre: f64,
}

/// The height of the crop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Height {
    /// The day.
    pub day: Date,
    /// Heights in the mean; one given for a spot as a whole counts as one.
    pub plants: usize,
    /// Mean, inches.
    pub mean_in: f64,
    /// Standard deviation (n − 1), inches; none with one height.
    pub standard_deviation_in: Option<f64>,
    /// Least and greatest, inches.
    pub range_in: (f64, f64),
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formula comes from.
    pub sources: Vec<Citation>,
}

/// What hail or frost left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Damage {
    /// `hail` or `frost`.
    pub event: String,
    /// The day on which it happened, where it was recorded.
    pub happened: Option<Date>,
    /// The day on which it was looked at.
    pub day: Date,
    /// Places looked at.
    pub places: usize,
    /// Plants lost among those examined.
    pub lost: Option<Share>,
    /// Leaf area lost, mean of the places, per cent.
    pub leaf_lost_percent: Option<f64>,
    /// Leaf area lost at the least and the most damaged place, per cent.
    pub leaf_lost_range_percent: Option<(f64, f64)>,
    /// The stage when it happened.
    pub stage: Option<String>,
    /// The growing points as found, each once, as people read them.
    pub growing_points: Vec<String>,
    /// Yield that the lost plants cost, least and most over the charts, per cent.
    pub loss_from_plants_percent: Option<(f64, f64)>,
    /// Yield that the lost leaf costs, least and most over the charts and the stages that may be meant, per cent.
    pub loss_from_leaf_percent: Option<(f64, f64)>,
    /// Both together, per cent; none where a part that was seen has no loss.
    pub yield_loss_percent: Option<(f64, f64)>,
    /// Cautions about these numbers, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the charts come from.
    pub sources: Vec<Citation>,
}

/// One disease.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Disease {
    /// The agent, as its code in the records.
    pub organism: String,
    /// The disease as people read it.
    pub label: String,
    /// The latest day with a record that can be used.
    pub day: Date,
    /// Plants affected among those examined: the incidence.
    pub affected: Option<Share>,
    /// Mean severity of the places, per cent of the leaf area.
    pub severity_percent: Option<f64>,
    /// The highest leaf with lesions, as people read it.
    pub highest_leaf: Option<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formula comes from.
    pub sources: Vec<Citation>,
}

/// What the field may yield.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct YieldEstimate {
    /// The day.
    pub day: Date,
    /// Places.
    pub places: usize,
    /// Mean of the places, bushels an acre at standard moisture.
    pub bushels_per_acre: f64,
    /// 95 % interval of the mean by Student's t, bushels an acre; none with one place.
    pub interval_95: Option<(f64, f64)>,
    /// The mean at the published kernel factors, from many small kernels to few large ones; where none was recorded.
    pub by_kernel_factors: Option<(f64, f64)>,
    /// Cautions about this number, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formula comes from.
    pub sources: Vec<Citation>,
}

/// What came off the field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Harvest {
    /// First and last day of harvest.
    pub days: (Date, Date),
    /// Parts that were weighed apart.
    pub parts: usize,
    /// Yield at standard moisture, bushels an acre.
    pub bushels_per_acre: Option<f64>,
    /// Whether a part did not say if its yield is dry, so that it was taken as told.
    pub as_told: bool,
    /// Moisture of the grain as it came, per cent.
    pub moisture_percent: Option<f64>,
    /// Test weight, pounds a bushel.
    pub test_weight_lb_per_bu: Option<f64>,
    /// Plants an acre at harvest.
    pub plants_per_acre: Option<f64>,
    /// Those as a share of the stand counted before, per cent.
    pub stand_kept_percent: Option<f64>,
    /// Plants without an ear, per cent.
    pub barren_percent: Option<f64>,
    /// Plants lodged, per cent.
    pub lodged_percent: Option<f64>,
    /// Cautions about these numbers, a sentence each.
    pub cautions: Vec<String>,
    /// The observations it rests on.
    pub rests_on: Vec<ObservationKey>,
    /// Where the formulas come from.
    pub sources: Vec<Citation>,
}
