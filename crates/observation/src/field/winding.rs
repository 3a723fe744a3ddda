//! Whether the rings of a boundary count all of their ground once, and none of it less than not at all.
//!
//! Outer rings run counter-clockwise and holes clockwise, so that the rings wind once around ground that is the field's and
//! not around any other. Where they wind twice, parts overlap; where they wind the other way round, a hole lies outside its
//! ring or over another hole. The sum of the rings' areas is the field's where neither is so.

use crate::record::Place;

/// How far beside a side it is looked, degrees × 10⁷: about 2 cm, more than what rounding to these makes of a shared side.
const BESIDE: f64 = 2.0;

/// How long the sides may be beside which the rings do not wind as they should, degrees × 10⁷: about a metre, of which no area
/// changes that anybody would see (common practice, no source).
const LONG: f64 = 100.0;

/// What is wrong with the rings, and near which place.
#[derive(Debug, Clone, Copy)]
pub(super) enum Fault {
    /// A hole lies outside its ring, over another hole, or takes all of it.
    Hole(Place),
    /// Two polygons share ground.
    Overlap(Place),
    /// A ring runs over ground twice, or around a part of it the other way.
    Itself(Place),
}

/// Finds ground that the rings count otherwise than once. In each polygon the outer ring is first.
pub(super) fn fault(polygons: &[Vec<Vec<Place>>]) -> Option<Fault> {
    let origin = *polygons.first()?.first()?.first()?;
    let flat: Vec<Vec<Ring>> =
        polygons.iter().map(|rings| rings.iter().map(|ring| Ring::of(ring, origin)).collect()).collect();
    for (index, own) in flat.iter().enumerate() {
        let alone = Bands::of(own);
        if let Some(point) = wrong(own, &alone, &|point| alone.winding(point)) {
            let of_outer = !(0..=1).contains(&Bands::of(&own[..1]).winding(point));
            let place = point.place(origin);
            return Some(if of_outer { Fault::Itself(place) } else { Fault::Hole(place) });
        }
        if own.iter().map(Ring::doubled_area).sum::<f64>() <= 0.0 {
            return Some(Fault::Hole(own[0].points[0].place(origin)));
        }
        let others = flat.iter().enumerate().filter(|(other, _)| *other != index).flat_map(|(_, rings)| rings);
        let mut others = others.filter(|ring| own[0].meets(ring)).peekable();
        if others.peek().is_some() {
            let others = Bands::of(others);
            if let Some(point) = wrong(own, &others, &|point| alone.winding(point) + others.winding(point)) {
                return Some(Fault::Overlap(point.place(origin)));
            }
        }
    }
    None
}

/// A point on the plane of degrees × 10⁷, from an origin near by.
#[derive(Debug, Clone, Copy)]
struct Point {
    x: f64,
    y: f64,
}

impl Point {
    fn place(self, origin: Place) -> Place {
        // Beside a place that there is, by less than a field is wide.
        let at = |from: i32, by: f64| (f64::from(from) + by).round() as i32;
        Place { lon_e7: at(origin.lon_e7, self.x), lat_e7: at(origin.lat_e7, self.y) }
    }
}

struct Ring {
    points: Vec<Point>,
    low: Point,
    high: Point,
}

impl Ring {
    fn of(places: &[Place], origin: Place) -> Self {
        let from = |place: &Place| Point {
            x: f64::from(place.lon_e7) - f64::from(origin.lon_e7),
            y: f64::from(place.lat_e7) - f64::from(origin.lat_e7),
        };
        let points: Vec<Point> = places.iter().map(from).collect();
        let most = Point { x: f64::INFINITY, y: f64::INFINITY };
        let least = Point { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY };
        let low = points.iter().fold(most, |low, p| Point { x: low.x.min(p.x), y: low.y.min(p.y) });
        let high = points.iter().fold(least, |high, p| Point { x: high.x.max(p.x), y: high.y.max(p.y) });
        Self { points, low, high }
    }

    fn sides(&self) -> impl Iterator<Item = Side> + '_ {
        self.points.iter().copied().zip(self.points.iter().copied().cycle().skip(1))
    }

    fn doubled_area(&self) -> f64 {
        self.sides().map(|(a, b)| a.x * b.y - b.x * a.y).sum()
    }

    fn meets(&self, other: &Self) -> bool {
        let apart = |a: f64, b: f64, c: f64, d: f64| b < c || d < a;
        !apart(self.low.x, self.high.x, other.low.x, other.high.x)
            && !apart(self.low.y, self.high.y, other.low.y, other.high.y)
    }
}

type Side = (Point, Point);

/// The sides of rings by the latitudes that they span, so that of many only those near a point are looked at.
struct Bands {
    low: f64,
    high: f64,
    sides: Vec<Vec<Side>>,
}

impl Bands {
    fn of<'a>(rings: impl IntoIterator<Item = &'a Ring>) -> Self {
        let all: Vec<Side> = rings.into_iter().flat_map(Ring::sides).collect();
        let low = all.iter().fold(f64::INFINITY, |low, (a, b)| low.min(a.y).min(b.y));
        let high = all.iter().fold(f64::NEG_INFINITY, |high, (a, b)| high.max(a.y).max(b.y));
        // Sides that run far north and south stand in many bands: as many of these as keep all in a few times their number.
        let far: f64 = all.iter().map(|(a, b)| (a.y - b.y).abs()).sum::<f64>() / (high - low).max(1.0);
        let most = 8.0 * all.len() as f64 / far.max(1.0);
        let count = ((all.len() / 4) as f64).min(most).max(1.0) as usize;
        let mut bands = Self { low, high, sides: vec![Vec::new(); count] };
        for (a, b) in all {
            let (from, to) = (bands.at(a.y.min(b.y)), bands.at(a.y.max(b.y)));
            bands.sides[from..=to].iter_mut().for_each(|band| band.push((a, b)));
        }
        bands
    }

    /// Returns the band of a latitude; of one outside, the nearest.
    fn at(&self, y: f64) -> usize {
        let of_all = (y - self.low) / (self.high - self.low).max(1.0);
        // A cast takes what is below zero for zero.
        ((of_all * self.sides.len() as f64) as usize).min(self.sides.len() - 1)
    }

    /// Tells how often the rings run around a point, counter-clockwise ones counted up and others down.
    fn winding(&self, point: Point) -> i32 {
        let mut winding = 0;
        for (a, b) in &self.sides[self.at(point.y)] {
            let left = || (b.x - a.x) * (point.y - a.y) - (point.x - a.x) * (b.y - a.y);
            if a.y <= point.y && b.y > point.y && left() > 0.0 {
                winding += 1;
            } else if a.y > point.y && b.y <= point.y && left() < 0.0 {
                winding -= 1;
            }
        }
        winding
    }

    /// Returns where on a side, from 0 to 1, any of these cross it; some may come twice.
    fn cuts(&self, (a, b): Side) -> impl Iterator<Item = f64> + '_ {
        let beside = self.sides[self.at(a.y.min(b.y))..=self.at(a.y.max(b.y))].iter().flatten();
        beside.filter_map(move |side| cut((a, b), *side))
    }
}

/// Returns a point beside a ring's side where the ground counts neither once nor not at all, unless there is next to no such
/// side. Sides are looked at piece by piece, parted where those of `crossing` cross them.
fn wrong(own: &[Ring], crossing: &Bands, winding: &dyn Fn(Point) -> i32) -> Option<Point> {
    let mut long = 0.0;
    for (a, b) in own.iter().flat_map(Ring::sides) {
        let length = (b.x - a.x).hypot(b.y - a.y);
        let mut cuts = vec![0.0, 1.0];
        cuts.extend(crossing.cuts((a, b)));
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            let (x, y) = (a.x + middle * (b.x - a.x), a.y + middle * (b.y - a.y));
            let (east, north) = ((b.y - a.y) / length * BESIDE, (b.x - a.x) / length * BESIDE);
            let sides = [Point { x: x - east, y: y + north }, Point { x: x + east, y: y - north }];
            if let Some(point) = sides.into_iter().find(|point| !(0..=1).contains(&winding(*point))) {
                long += (pair[1] - pair[0]) * length;
                if long > LONG {
                    return Some(point);
                }
            }
        }
    }
    None
}

/// Returns where on the first side, from 0 to 1, the second crosses it.
fn cut((a, b): Side, (c, d): Side) -> Option<f64> {
    let apart = |p: f64, q: f64, r: f64, s: f64| p.max(q) < r.min(s) || r.max(s) < p.min(q);
    if apart(a.x, b.x, c.x, d.x) || apart(a.y, b.y, c.y, d.y) {
        return None;
    }
    let cross = |ux: f64, uy: f64, vx: f64, vy: f64| ux * vy - uy * vx;
    let slope = cross(b.x - a.x, b.y - a.y, d.x - c.x, d.y - c.y);
    let at = cross(c.x - a.x, c.y - a.y, d.x - c.x, d.y - c.y) / slope;
    let beyond = cross(c.x - a.x, c.y - a.y, b.x - a.x, b.y - a.y) / slope;
    ((0.0..=1.0).contains(&at) && (0.0..=1.0).contains(&beyond)).then_some(at)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn place((x, y): (i32, i32)) -> Place {
        Place { lon_e7: -936_000_000 + x * 1000, lat_e7: 420_000_000 + y * 1000 }
    }

    /// A rectangle, counter-clockwise.
    fn block(west: i32, south: i32, width: i32, height: i32) -> Vec<(i32, i32)> {
        vec![(west, south), (west + width, south), (west + width, south + height), (west, south + height)]
    }

    /// The same ring with a point at each step of its sides, which run east, north, west or south.
    fn dense(ring: &[(i32, i32)]) -> Vec<(i32, i32)> {
        let mut points = Vec::new();
        for (&(x, y), &(to_x, to_y)) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let (east, north) = ((to_x - x).signum(), (to_y - y).signum());
            let steps = (to_x - x).abs().max((to_y - y).abs());
            points.extend((0..steps).map(|step| (x + step * east, y + step * north)));
        }
        points
    }

    fn hole(west: i32, south: i32, width: i32, height: i32) -> Vec<(i32, i32)> {
        block(west, south, width, height).into_iter().rev().collect()
    }

    fn told(polygons: &[&[Vec<(i32, i32)>]]) -> &'static str {
        let places: Vec<Vec<Vec<Place>>> = polygons
            .iter()
            .map(|rings| rings.iter().map(|ring| ring.iter().map(|p| place(*p)).collect()).collect())
            .collect();
        match fault(&places) {
            None => "sound",
            Some(Fault::Hole(_)) => "hole",
            Some(Fault::Overlap(_)) => "overlap",
            Some(Fault::Itself(_)) => "itself",
        }
    }

    #[test]
    fn ground_counts_once() {
        let field = || block(0, 0, 100, 100);
        // Sound: what shares sides or points and no ground.
        assert_eq!(told(&[&[field()]]), "sound");
        assert_eq!(told(&[&[field(), hole(10, 10, 20, 20), hole(30, 10, 20, 20)]]), "sound", "holes side by side");
        assert_eq!(told(&[&[field(), hole(0, 10, 20, 20)]]), "sound", "a hole at the side");
        assert_eq!(told(&[&[field()], &[block(100, 0, 50, 50)]]), "sound", "parts side by side");
        assert_eq!(told(&[&[field(), hole(20, 20, 40, 40)], &[block(20, 20, 40, 40)]]), "sound", "the hole filled");
        assert_eq!(told(&[&[field(), hole(20, 20, 40, 40)], &[block(30, 30, 9, 9)]]), "sound", "within the hole");
        let slit =
            vec![(0, 0), (100, 0), (100, 100), (50, 100), (50, 60), (60, 50), (40, 50), (50, 60), (50, 100), (0, 100)];
        assert_eq!(told(&[&[slit]]), "sound", "a hole drawn in one line with the ring");
        let spike = vec![(0, 0), (100, 0), (100, 50), (140, 50), (100, 50), (100, 100), (0, 100)];
        assert_eq!(told(&[&[spike]]), "sound", "there and back");
        let touching = vec![(0, 0), (50, 50), (100, 0), (100, 100), (50, 50), (0, 100)];
        assert_eq!(told(&[&[touching]]), "sound", "two halves that meet in a corner");
        // Not sound.
        assert_eq!(told(&[&[field(), hole(200, 10, 20, 20)]]), "hole", "outside");
        assert_eq!(told(&[&[field(), hole(10, 10, 50, 50), hole(20, 20, 10, 10)]]), "hole", "in a hole");
        assert_eq!(told(&[&[field(), hole(10, 10, 50, 50), hole(10, 10, 50, 50)]]), "hole", "twice");
        assert_eq!(told(&[&[field(), hole(0, 0, 100, 100)]]), "hole", "all of it");
        assert_eq!(told(&[&[field()], &[block(50, 50, 100, 100)]]), "overlap");
        assert_eq!(told(&[&[field()], &[block(20, 20, 10, 10)]]), "overlap", "within");
        assert_eq!(told(&[&[field()], &[field()]]), "overlap", "twice the same");
        assert_eq!(told(&[&[block(0, 40, 100, 10)], &[block(40, 0, 10, 100)]]), "overlap", "a cross");
        assert_eq!(told(&[&[field(), hole(20, 20, 40, 40)], &[block(10, 10, 60, 60)]]), "overlap", "over a hole");
        assert_eq!(
            told(&[&[field(), hole(200, 10, 20, 20)], &[block(190, 0, 50, 50)]]),
            "hole",
            "another part is there"
        );
        // A bow tie whose sides meet in a corner of both.
        assert_eq!(told(&[&[vec![(0, 0), (50, 50), (90, 90), (90, 10), (50, 50), (0, 100)]]]), "itself");
    }

    /// Counts the unit squares that are in a rectangle.
    fn covered(blocks: &[(i32, i32, i32, i32)], x: i32, y: i32) -> usize {
        blocks.iter().filter(|(w, s, wide, high)| (*w..w + wide).contains(&x) && (*s..s + high).contains(&y)).count()
    }

    proptest! {
        /// Rectangles on a grid overlap exactly where a square of the grid is in two of them.
        #[test]
        fn rectangles_overlap_where_a_square_is_in_two(
            blocks in prop::collection::vec((0..12i32, 0..12i32, 1..6i32, 1..6i32), 1..5)
        ) {
            let rings: Vec<[Vec<(i32, i32)>; 1]> = blocks.iter().map(|(w, s, wide, high)| [dense(&block(*w, *s, *wide, *high))]).collect();
            let polygons: Vec<&[Vec<(i32, i32)>]> = rings.iter().map(|ring| &ring[..]).collect();
            let twice = (0..18).any(|x| (0..18).any(|y| covered(&blocks, x, y) > 1));
            prop_assert_eq!(told(&polygons), if twice { "overlap" } else { "sound" });
        }

        /// Holes on a grid are sound exactly where each square of theirs is in the field and in one of them.
        #[test]
        fn holes_are_within_their_ring_and_apart(
            blocks in prop::collection::vec((0..12i32, 0..12i32, 1..6i32, 1..6i32), 1..4)
        ) {
            let mut rings = vec![block(2, 2, 12, 12)];
            rings.extend(blocks.iter().map(|(w, s, wide, high)| dense(&hole(*w, *s, *wide, *high))));
            let within = |x: i32, y: i32| (2..14).contains(&x) && (2..14).contains(&y);
            let mut squares = (0..18).flat_map(|x| (0..18).map(move |y| (x, y)));
            let wrong = squares.any(|(x, y)| covered(&blocks, x, y) > usize::from(within(x, y)));
            prop_assert_eq!(told(&[&rings]) == "sound", !wrong);
        }
    }
}
