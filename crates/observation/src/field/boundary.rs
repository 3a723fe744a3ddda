//! Where a field lies: rings of points on WGS 84.

use super::winding::{self, Fault};
use crate::record::Place;

/// The most points of one boundary; kept, they take less than a device accepts as one value.
pub const POINTS: usize = 5_000;

/// The widest boundary, degrees of longitude or latitude (× 10⁷): a field is smaller than a county.
const EXTENT_E7: i64 = 10_000_000;

/// Metres to a degree of latitude; good to a few metres in a thousand, enough to say how far outside a place lies.
const METRES: f64 = 111_320.0;

/// The boundary of a field: polygons, each an outer ring and the holes in it.
///
/// Rings are not closed by a repeated point. The outer one runs counter-clockwise, holes run clockwise, as RFC 7946
/// (2016), section 3.1.6, writes them.
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    polygons: Vec<Vec<Vec<Place>>>,
}

/// Why rings are no boundary of a field.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoBoundary {
    /// There is no ring at all.
    #[error("expected at least one polygon, got none")]
    Empty,
    /// A coordinate is no degree of longitude and latitude.
    #[error("expected longitude and latitude in degrees (WGS 84), got {lon}, {lat}")]
    OutOfRange {
        /// What came as longitude.
        lon: f64,
        /// What came as latitude.
        lat: f64,
    },
    /// A ring has too few corners.
    #[error("expected a ring of at least 3 different points, got {points}")]
    TooFew {
        /// How many came.
        points: usize,
    },
    /// A ring encloses nothing.
    #[error("expected a ring that encloses ground, got one whose points lie on a line")]
    Flat,
    /// There are more points than are kept.
    #[error("expected a boundary of at most {POINTS} points, got {points}")]
    TooMany {
        /// How many came.
        points: usize,
    },
    /// It is wider than a field can be.
    #[error("expected a field less than one degree wide and high, got one of {degrees:.2} degrees")]
    TooWide {
        /// Its larger extent.
        degrees: f64,
    },
    /// A hole is none of its ring.
    #[error("a hole lies outside its ring, over another hole, or takes all of it, near {lat:.5},{lon:.5}")]
    Hole {
        /// Latitude near which it does, degrees.
        lat: f64,
        /// Longitude near which it does, degrees.
        lon: f64,
    },
    /// Two polygons share ground, which would count twice.
    #[error("two parts of the boundary overlap near {lat:.5},{lon:.5}; join them into one")]
    Overlaps {
        /// Latitude near which they do, degrees.
        lat: f64,
        /// Longitude near which they do, degrees.
        lon: f64,
    },
    /// Two sides cross, so that inside and outside cannot be told.
    #[error("two sides of the boundary cross near {lat:.5},{lon:.5}")]
    Crosses {
        /// Latitude near which they cross, degrees.
        lat: f64,
        /// Longitude near which they cross, degrees.
        lon: f64,
    },
}

impl Boundary {
    /// Makes a boundary of polygons, each an outer ring and its holes, of longitude and latitude in degrees.
    ///
    /// A closing point and points that repeat the one before are dropped, and rings are turned the way they are kept.
    /// *Errors:* see [`NoBoundary`].
    pub fn new(polygons: &[Vec<Vec<(f64, f64)>>]) -> Result<Self, NoBoundary> {
        let boundary = Self::of_rings(polygons)?;
        let near = |place: Place| (degrees(place.lat_e7), degrees(place.lon_e7));
        match winding::fault(&boundary.polygons) {
            None => Ok(boundary),
            Some(Fault::Hole(place)) => Err(NoBoundary::Hole { lat: near(place).0, lon: near(place).1 }),
            Some(Fault::Overlap(place)) => Err(NoBoundary::Overlaps { lat: near(place).0, lon: near(place).1 }),
            Some(Fault::Itself(place)) => Err(NoBoundary::Crosses { lat: near(place).0, lon: near(place).1 }),
        }
    }

    /// Makes a boundary of polygons that may share ground: journals keep some that an earlier program took.
    fn of_rings(polygons: &[Vec<Vec<(f64, f64)>>]) -> Result<Self, NoBoundary> {
        let points = polygons.iter().flatten().map(Vec::len).sum();
        if points > POINTS + polygons.iter().map(Vec::len).sum::<usize>() {
            return Err(NoBoundary::TooMany { points });
        }
        let mut kept = Vec::with_capacity(polygons.len());
        for rings in polygons.iter().filter(|rings| !rings.is_empty()) {
            let mut polygon = Vec::with_capacity(rings.len());
            for (index, ring) in rings.iter().enumerate() {
                polygon.push(turned(ring_of(ring)?, index == 0));
            }
            kept.push(polygon);
        }
        let boundary = Self { polygons: kept };
        let (low, high) = boundary.corners().ok_or(NoBoundary::Empty)?;
        let width = i64::from(high.lon_e7) - i64::from(low.lon_e7);
        let extent = width.max(i64::from(high.lat_e7) - i64::from(low.lat_e7));
        if extent > EXTENT_E7 {
            return Err(NoBoundary::TooWide { degrees: extent as f64 / 1e7 });
        }
        match boundary.crossing() {
            Some(near) => Err(NoBoundary::Crosses { lat: degrees(near.lat_e7), lon: degrees(near.lon_e7) }),
            None if boundary.polygons.iter().flatten().any(|ring| doubled_area(ring) == 0) => Err(NoBoundary::Flat),
            None => Ok(boundary),
        }
    }

    /// Returns the polygons: rings of places, the outer one first.
    pub fn polygons(&self) -> &[Vec<Vec<Place>>] {
        &self.polygons
    }

    /// Returns the south-western and the north-eastern corner of the box around it.
    pub fn corners(&self) -> Option<(Place, Place)> {
        let mut points = self.polygons.iter().flatten().flatten();
        let first = *points.next()?;
        Some(points.fold((first, first), |(low, high), p| {
            (
                Place { lon_e7: low.lon_e7.min(p.lon_e7), lat_e7: low.lat_e7.min(p.lat_e7) },
                Place { lon_e7: high.lon_e7.max(p.lon_e7), lat_e7: high.lat_e7.max(p.lat_e7) },
            )
        }))
    }

    /// Tells whether two surely share no ground: the boxes around them do not overlap. Where they do, they may or may not.
    pub fn is_apart_from(&self, other: &Self) -> bool {
        let (Some((low, high)), Some((other_low, other_high))) = (self.corners(), other.corners()) else {
            return false;
        };
        high.lon_e7 <= other_low.lon_e7
            || other_high.lon_e7 <= low.lon_e7
            || high.lat_e7 <= other_low.lat_e7
            || other_high.lat_e7 <= low.lat_e7
    }

    /// Returns the middle of the box around it.
    pub fn middle(&self) -> Option<Place> {
        let (low, high) = self.corners()?;
        let middle = |a: i32, b: i32| ((i64::from(a) + i64::from(b)) / 2) as i32;
        Some(Place { lon_e7: middle(low.lon_e7, high.lon_e7), lat_e7: middle(low.lat_e7, high.lat_e7) })
    }

    /// Tells whether a place lies inside: in an outer ring and in none of its holes.
    pub fn contains(&self, place: Place) -> bool {
        self.polygons.iter().any(|rings| {
            let crossed = rings.iter().flat_map(|ring| sides(ring)).filter(|(a, b)| {
                // A ray to the east; the half-open comparison counts a corner once.
                (a.lat_e7 > place.lat_e7) != (b.lat_e7 > place.lat_e7)
                    && (turn(*a, *b, place) > 0) == (b.lat_e7 > a.lat_e7)
            });
            crossed.count() % 2 == 1
        })
    }

    /// Returns how far from its nearest side a place lies, metres; about right up to a few kilometres.
    pub fn metres_to_side(&self, place: Place) -> f64 {
        let east = METRES * degrees(place.lat_e7).to_radians().cos();
        let flat = |p: Place| {
            let (lon, lat) =
                (i64::from(p.lon_e7) - i64::from(place.lon_e7), i64::from(p.lat_e7) - i64::from(place.lat_e7));
            (lon as f64 / 1e7 * east, lat as f64 / 1e7 * METRES)
        };
        let all = self.polygons.iter().flatten().flat_map(|ring| sides(ring));
        all.map(|(a, b)| {
            let ((ax, ay), (bx, by)) = (flat(a), flat(b));
            let (dx, dy) = (bx - ax, by - ay);
            let along = (-(ax * dx + ay * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
            (ax + along * dx).hypot(ay + along * dy)
        })
        .fold(f64::INFINITY, f64::min)
    }

    /// Returns a place near which two sides of a polygon cross.
    fn crossing(&self) -> Option<Place> {
        self.polygons.iter().find_map(|rings| {
            let mut all: Vec<_> = rings.iter().flat_map(|ring| sides(ring)).collect();
            all.sort_by_key(|(a, b)| a.lon_e7.min(b.lon_e7));
            all.iter().enumerate().find_map(|(index, &(a, b))| {
                let east = a.lon_e7.max(b.lon_e7);
                let beside = all[index + 1..].iter().take_while(|(c, d)| c.lon_e7.min(d.lon_e7) <= east);
                let mut crosses = beside.filter(|&&(c, d)| {
                    let apart = |p: i32, q: i32, r: i32, s: i32| p.max(q) < r.min(s) || r.max(s) < p.min(q);
                    !apart(a.lat_e7, b.lat_e7, c.lat_e7, d.lat_e7)
                        && turn(a, b, c).signum() * turn(a, b, d).signum() < 0
                        && turn(c, d, a).signum() * turn(c, d, b).signum() < 0
                });
                crosses.next().map(|(c, _)| *c)
            })
        })
    }

    /// Writes the boundary as it is kept: polygons parted by `|`, rings by `;`, and of each ring longitude and latitude
    /// of the first point (degrees × 10⁷), then of each further one the difference from the point before.
    pub fn to_text(&self) -> String {
        let ring = |ring: &Vec<Place>| {
            let mut before = (0, 0);
            let numbers = ring.iter().map(|p| {
                let here = (i64::from(p.lon_e7), i64::from(p.lat_e7));
                let text = format!("{} {}", here.0 - before.0, here.1 - before.1);
                before = here;
                text
            });
            numbers.collect::<Vec<_>>().join(" ")
        };
        let polygon = |rings: &Vec<Vec<Place>>| rings.iter().map(ring).collect::<Vec<_>>().join(";");
        self.polygons.iter().map(polygon).collect::<Vec<_>>().join("|")
    }

    /// Reads a boundary as it is kept; `None` for anything else.
    pub fn from_text(text: &str) -> Option<Self> {
        let ring = |text: &str| -> Option<Vec<(f64, f64)>> {
            let numbers: Vec<i64> = text.split(' ').map(|n| n.parse().ok()).collect::<Option<_>>()?;
            if !numbers.len().is_multiple_of(2) {
                return None;
            }
            let (mut lon, mut lat) = (0i64, 0i64);
            let step = |pair: &[i64]| {
                lon = lon.checked_add(pair[0])?;
                lat = lat.checked_add(pair[1])?;
                Some((lon as f64 / 1e7, lat as f64 / 1e7))
            };
            numbers.chunks(2).map(step).collect()
        };
        let polygons: Option<Vec<Vec<Vec<_>>>> =
            text.split('|').map(|polygon| polygon.split(';').map(ring).collect()).collect();
        Self::of_rings(&polygons?).ok()
    }
}

fn degrees(e7: i32) -> f64 {
    f64::from(e7) / 1e7
}

/// Reads one ring: in range, without a closing point and without points that repeat the one before.
fn ring_of(points: &[(f64, f64)]) -> Result<Vec<Place>, NoBoundary> {
    let mut ring: Vec<Place> = Vec::with_capacity(points.len());
    for &(lon, lat) in points {
        if !(lon.abs() <= 180.0 && lat.abs() <= 90.0) {
            return Err(NoBoundary::OutOfRange { lon, lat });
        }
        // At most 1.8e9, which fits.
        let place = Place { lon_e7: (lon * 1e7).round() as i32, lat_e7: (lat * 1e7).round() as i32 };
        if ring.last() != Some(&place) {
            ring.push(place);
        }
    }
    if ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    if ring.len() < 3 {
        return Err(NoBoundary::TooFew { points: ring.len() });
    }
    Ok(ring)
}

/// Returns a ring that runs counter-clockwise, or clockwise.
fn turned(mut ring: Vec<Place>, counter_clockwise: bool) -> Vec<Place> {
    if (doubled_area(&ring) > 0) != counter_clockwise {
        ring.reverse();
    }
    ring
}

/// Returns twice the area on the plane of degrees; positive where the ring runs counter-clockwise.
fn doubled_area(ring: &[Place]) -> i128 {
    let product = |a: i32, b: i32| i128::from(a) * i128::from(b);
    sides(ring).map(|(a, b)| product(a.lon_e7, b.lat_e7) - product(b.lon_e7, a.lat_e7)).sum()
}

fn sides(ring: &[Place]) -> impl Iterator<Item = (Place, Place)> + '_ {
    ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))
}

/// Tells on which side of the way from `a` to `b` a place lies: positive on the left.
fn turn(a: Place, b: Place, p: Place) -> i128 {
    let span = |from: i32, to: i32| i128::from(to) - i128::from(from);
    span(a.lon_e7, b.lon_e7) * span(a.lat_e7, p.lat_e7) - span(a.lat_e7, b.lat_e7) * span(a.lon_e7, p.lon_e7)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(lon: f64, lat: f64) -> Place {
        Place { lon_e7: (lon * 1e7).round() as i32, lat_e7: (lat * 1e7).round() as i32 }
    }

    fn square(west: f64, south: f64, side: f64) -> Vec<(f64, f64)> {
        let (east, north) = (west + side, south + side);
        vec![(west, south), (west, north), (east, north), (east, south), (west, south)]
    }

    #[test]
    fn a_hole_is_outside_and_rings_run_as_rfc_7946_says() {
        let boundary =
            Boundary::new(&[vec![square(-93.6, 42.0, 0.01), square(-93.598, 42.002, 0.002)]]).expect("a boundary");
        assert!(boundary.contains(place(-93.595, 42.005)));
        assert!(!boundary.contains(place(-93.597, 42.003)), "in the hole");
        assert!(!boundary.contains(place(-93.61, 42.005)));
        let rings = &boundary.polygons()[0];
        assert_eq!(rings.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4], "not closed by a repeated point");
        assert!(doubled_area(&rings[0]) > 0 && doubled_area(&rings[1]) < 0);
        // 0.01° of latitude west of the western side, at 42° north.
        let metres = boundary.metres_to_side(place(-93.61, 42.005));
        assert!((metres - 1113.2 * 42.005f64.to_radians().cos()).abs() < 1.0, "{metres}");
        assert_eq!(Boundary::from_text(&boundary.to_text()).as_ref(), Some(&boundary));
    }

    #[test]
    fn what_is_no_field_is_refused() {
        let bow_tie = vec![(-93.6, 42.0), (-93.59, 42.01), (-93.59, 42.0), (-93.6, 42.01)];
        assert!(matches!(Boundary::new(&[vec![bow_tie]]), Err(NoBoundary::Crosses { .. })));
        let far = [vec![square(-93.6, 42.0, 0.01), square(-93.5, 42.0, 0.002)]];
        assert!(matches!(Boundary::new(&far), Err(NoBoundary::Hole { .. })));
        let over = [vec![square(-93.6, 42.0, 0.01)], vec![square(-93.595, 42.005, 0.01)]];
        assert!(matches!(Boundary::new(&over), Err(NoBoundary::Overlaps { .. })));
        let kept = Boundary::of_rings(&over).expect("an earlier program took it");
        assert_eq!(Boundary::from_text(&kept.to_text()), Some(kept), "what is kept is still read");
        let metres = square(448_000.0, 4_650_000.0, 800.0);
        assert!(matches!(Boundary::new(&[vec![metres]]), Err(NoBoundary::OutOfRange { .. })));
        assert!(matches!(Boundary::new(&[vec![square(-93.6, 42.0, 2.0)]]), Err(NoBoundary::TooWide { .. })));
        assert!(matches!(
            Boundary::new(&[vec![vec![(-93.6, 42.0), (-93.5, 42.1)]]]),
            Err(NoBoundary::TooFew { points: 2 })
        ));
        let line = vec![(-93.6, 42.0), (-93.5, 42.1), (-93.4, 42.2)];
        assert_eq!(Boundary::new(&[vec![line]]), Err(NoBoundary::Flat));
        assert!(matches!(Boundary::new(&[vec![vec![(f64::NAN, 42.0)]]]), Err(NoBoundary::OutOfRange { .. })));
        assert!(matches!(Boundary::new(&[vec![vec![(0.0, 0.0); 6_000]]]), Err(NoBoundary::TooMany { points: 6_000 })));
        assert_eq!(Boundary::new(&[]), Err(NoBoundary::Empty));
        for text in ["", "1", "1 2 3", "a b c d e f", "9223372036854775807 0 1 0 1 1"] {
            assert_eq!(Boundary::from_text(text), None, "{text}");
        }
    }
}
