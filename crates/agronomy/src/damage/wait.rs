//! How long to wait before judging whether plants live.

use super::Crop;
use crate::catalogue::Origin;

/// What hit the field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Event {
    /// Hail.
    Hail,
    /// Frost.
    Frost,
    /// Standing water; days count from when the soil has drained.
    Flood,
}

words!(Event, "event", { Hail => "hail", Frost => "frost", Flood => "flood" });

/// How long one publication says to wait.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wait {
    /// The crop.
    pub crop: Crop,
    /// What hit it.
    pub event: Event,
    /// The least and the most days.
    pub days: (u8, u8),
    /// What the days are, and when longer.
    pub note: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

pub(super) const WAITS: [Wait; 12] = [
    wait(
        Crop::Corn,
        Event::Hail,
        (7, 10),
        "until living tissue can be told from dead",
        Origin::Page,
        "J. Lauer (2006, 2014), Hail damage on corn; (1994), Assessing hail damage in corn, University of Wisconsin",
    ),
    wait(
        Crop::Corn,
        Event::Hail,
        (3, 5),
        "longer if the weather does not let corn grow",
        Origin::Page,
        "Iowa State University, quoted in University of Delaware, Weekly Crop Update, hail damage of 9 June",
    ),
    wait(
        Crop::Corn,
        Event::Hail,
        (7, 14),
        "at least one week, better two",
        Origin::Page,
        "J. McMechan, University of Nebraska, quoted 6 June 2024 on hail damage in corn",
    ),
    wait(
        Crop::Corn,
        Event::Frost,
        (3, 4),
        "then judge survival",
        Origin::Page,
        "G. Roth (2013), Penn State University, quoted on frosted corn",
    ),
    wait(
        Crop::Corn,
        Event::Frost,
        (4, 5),
        "warm growing days, until fresh regrowth shows",
        Origin::Page,
        "R. L. Nielsen (2013), Purdue University, quoted on frosted corn",
    ),
    wait(
        Crop::Corn,
        Event::Flood,
        (4, 5),
        "days of drained soil",
        Origin::Page,
        "Iowa State University, Integrated Crop Management, 31 May 2004, replanting after flood",
    ),
    wait(
        Crop::Corn,
        Event::Flood,
        (3, 4),
        "at the least, after any storm",
        Origin::Page,
        "J. Lauer (2006, 2014), Hail damage on corn, University of Wisconsin, plant health after flood, hail, frost",
    ),
    wait(
        Crop::Soybean,
        Event::Hail,
        (3, 5),
        "until new growth shows",
        Origin::Page,
        "Michigan State University Extension, Assessing hail damage to soybeans in the early vegetative stages",
    ),
    wait(
        Crop::Soybean,
        Event::Hail,
        (4, 7),
        "until regrowth shows",
        Origin::Page,
        "Iowa State University (2004), Evaluating hail damage to crops and replanting decisions",
    ),
    wait(
        Crop::Soybean,
        Event::Frost,
        (5, 7),
        "three to five days more if it stays cool",
        Origin::Page,
        "M. Staton, Michigan State University Extension, Assessing frost/freeze damage to emerged soybeans",
    ),
    wait(
        Crop::Soybean,
        Event::Frost,
        (3, 5),
        "then look at the buds beside the cotyledons",
        Origin::Practice,
        "common practice, no source",
    ),
    wait(
        Crop::Soybean,
        Event::Flood,
        (3, 5),
        "after the water is gone, until new leaves show",
        Origin::Page,
        "G. Luce (2019), Survival of flooded crops depends on time, temperature, University of Missouri Extension",
    ),
];

const fn wait(
    crop: Crop,
    event: Event,
    days: (u8, u8),
    note: &'static str,
    origin: Origin,
    source: &'static str,
) -> Wait {
    Wait { crop, event, days, note, origin, source }
}

/// Returns what each publication says about how long to wait.
///
/// *Units:* days after the event; after a flood, after the soil has drained. *Holds:* weather in which the crop grows;
/// longer when cool. *Source:* that of each [`Wait`].
///
/// ```
/// use ligule_agronomy::damage::{Crop, Event, days_to_wait};
/// assert_eq!(days_to_wait(Crop::Corn, Event::Frost).map(|w| w.days).collect::<Vec<_>>(), [(3, 4), (4, 5)]);
/// ```
pub fn days_to_wait(crop: Crop, event: Event) -> impl Iterator<Item = &'static Wait> {
    WAITS.iter().filter(move |wait| wait.crop == crop && wait.event == event)
}

/// Returns the least and the most days over all publications.
///
/// *Units*, *holds* and *source:* as [`days_to_wait`].
///
/// ```
/// use ligule_agronomy::damage::{Crop, Event, wait_range};
/// assert_eq!(wait_range(Crop::Corn, Event::Hail), (3, 14));
/// ```
pub fn wait_range(crop: Crop, event: Event) -> (u8, u8) {
    let ends = days_to_wait(crop, event).map(|wait| wait.days);
    ends.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).expect("every crop has a wait for every event")
}
