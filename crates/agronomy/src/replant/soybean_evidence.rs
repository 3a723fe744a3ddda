//! What publications say of thin soybean stands and of late planting.

use super::season::MonthDay;
use crate::catalogue::Origin;

/// One published yield of a stand.
pub(super) struct Evidence {
    /// Plants per acre, from and to.
    pub(super) stand: (f64, f64),
    /// Percent of the greatest yield, from and to.
    pub(super) percent: (f64, f64),
    /// What must be known of it.
    pub(super) note: &'static str,
    /// Whether the stand is uniform, so that it can be set beside a counted one.
    pub(super) uniform: bool,
    pub(super) origin: Origin,
    pub(super) source: &'static str,
}

const MINNESOTA: &str = "J. Coulter, S. Naeve (2011), Extension educators advise on assessing hail-damaged corn, \
                         beans, University of Minnesota";
const PENN_STATE: &str = "Penn State Extension (2012, 2016), Soybean replanting decisions";
const WISCONSIN: &str = "S. Conley (2019), Soybean replant decisions, University of Wisconsin";
const WISCONSIN_TRIAL: &str =
    "A. P. Gaspar, S. P. Conley, J. M. Gaska (2015), Think twice before replanting soybeans, University of Wisconsin";
const IOWA_KEEP: &str = "Is this stand worth keeping?, farm press column on Iowa State University and University of \
                         Minnesota studies";
const IOWA_1999: &str = "Iowa State University (24 May 1999), Soybean replant issues";
const ILLINOIS: &str = "University of Illinois (5 June 2009), Replanting soybean is no easy decision, the Bulletin 11";
const SEVERAL: &str = "M. Singh and others, Should you replant a pitiful soybean stand?, several states";
const VIRGINIA: &str = "Virginia Cooperative Extension, Ag Pest Advisory, on replanting soybean";

const fn uniform(
    stand: (f64, f64),
    percent: (f64, f64),
    note: &'static str,
    origin: Origin,
    source: &'static str,
) -> Evidence {
    Evidence { stand, percent, note, uniform: true, origin, source }
}

pub(super) const EVIDENCE: [Evidence; 11] = [
    uniform((100_000.0, 200_000.0), (100.0, 100.0), "near 100,000 and above", Origin::Page, MINNESOTA),
    uniform((100_000.0, 200_000.0), (100.0, 100.0), "near the greatest yield", Origin::Page, PENN_STATE),
    uniform(
        (100_000.0, 135_000.0),
        (100.0, 100.0),
        "needed for the greatest yield, early planting: 100,000 where yields are high, 135,000 or more where low",
        Origin::Page,
        WISCONSIN,
    ),
    uniform((80_000.0, 80_000.0), (90.0, 90.0), "about", Origin::Page, MINNESOTA),
    uniform(
        (70_000.0, 75_000.0),
        (95.0, 95.0),
        "in most situations; in some studies as low as 50,000",
        Origin::Page,
        SEVERAL,
    ),
    uniform((70_000.0, 70_000.0), (90.0, 95.0), "", Origin::Page, PENN_STATE),
    Evidence {
        stand: (70_000.0, 70_000.0),
        percent: (83.0, 83.0),
        note: "40 % of the field in gaps",
        uniform: false,
        origin: Origin::Page,
        source: PENN_STATE,
    },
    uniform(
        (50_000.0, 50_000.0),
        (90.0, 90.0),
        "of the yield of 150,000; 91 % of that of 100,000",
        Origin::Page,
        ILLINOIS,
    ),
    uniform(
        (46_000.0, 46_000.0),
        (66.0 / 79.0 * 100.0, 66.0 / 79.0 * 100.0),
        "66 bu/ac against 79 at 171,000, four places in Indiana",
        Origin::Derived,
        PENN_STATE,
    ),
    uniform((39_000.0, 39_000.0), (75.0, 75.0), "about; falls faster below 50,000", Origin::Page, MINNESOTA),
    uniform(
        (100_000.0, 200_000.0),
        (100.0, 100.0),
        "no yield is gained above 100,000 established plants at harvest",
        Origin::Page,
        IOWA_KEEP,
    ),
];

/// What one publication says should be done with a stand.
pub(super) struct Rule {
    /// Plants per acre, at least and below.
    pub(super) stand: (f64, f64),
    pub(super) says: &'static str,
    pub(super) origin: Origin,
    pub(super) source: &'static str,
}

const fn rule(stand: (f64, f64), says: &'static str, source: &'static str) -> Rule {
    Rule { stand, says, origin: Origin::Page, source }
}

const ANY: f64 = f64::INFINITY;

pub(super) const RULES: [Rule; 9] = [
    rule((100_000.0, ANY), "keep: yield is at or near its greatest", WISCONSIN),
    rule(
        (50_000.0, 100_000.0),
        "think twice before replanting: it gained about 2 bu/ac, which does not pay even with free seed; control \
         weeds instead",
        WISCONSIN,
    ),
    rule((0.0, 50_000.0), "plant new seed of like maturity into the stand; do not tear it up", WISCONSIN),
    rule(
        (0.0, 100_000.0),
        "fill in to more than 100,000 plants (gained yield up to 20 June); tearing up lost 0.32 bu/ac for each day \
         of delay",
        WISCONSIN_TRIAL,
    ),
    rule((75_000.0, 100_000.0), "keep: replanting seldom pays at uniform 70,000 to 75,000 plants", IOWA_KEEP),
    rule(
        (70_000.0, 75_000.0),
        "keep if uniform: replanting seldom pays; with many gaps of 2 ft a stand of 75,000 lost 4 bu/ac instead of 1",
        IOWA_KEEP,
    ),
    rule(
        (0.0, 70_000.0),
        "weigh replanting against its cost and the later date; from mid June on even this may be kept",
        IOWA_KEEP,
    ),
    rule(
        (0.0, 70_000.0),
        "keep it or tear it up: filling in can succeed soon after emergence, but a decision is better",
        IOWA_KEEP,
    ),
    rule(
        (0.0, 100_000.0),
        "filling in is not recommended; gaps over 2 ft cost yield, under 2 ft they are made up",
        IOWA_1999,
    ),
];

/// Yield by planting date, Pennsylvania, % of the greatest.
pub(super) const BY_DATE: [(MonthDay, f64); 5] =
    [((5, 10), 100.0), ((5, 20), 98.0), ((5, 30), 95.0), ((6, 10), 88.0), ((6, 20), 76.0)];

/// Where [`BY_DATE`] was printed.
pub(super) const BY_DATE_SOURCE: &str = PENN_STATE;

/// What a day of delay costs: when, bu/ac a day.
pub(super) const A_DAY: [(&str, f64, Origin, &str); 3] = [
    ("whole stand torn up and replanted, May to 20 June, Wisconsin", 0.32, Origin::Page, WISCONSIN_TRIAL),
    ("June, Illinois", 0.5, Origin::Page, ILLINOIS),
    ("after mid June, Virginia", 0.5, Origin::Page, VIRGINIA),
];
