//! GeoJSON (RFC 7946).

use geojson::{Feature, GeoJson, Geometry, JsonObject, Value};

use super::{Outline, Polygons, REPROJECT, System};

/// How deep collections of geometries may lie in each other.
const DEPTH: usize = 8;

pub(super) fn read(text: &str) -> Result<Vec<Outline>, String> {
    let whole: GeoJson = text.parse().map_err(|error| format!("expected GeoJSON: {error}"))?;
    match whole {
        GeoJson::FeatureCollection(all) => {
            let system = reference_system(all.foreign_members.as_ref())?;
            Ok(all.features.iter().map(|feature| outline(feature).on(system)).collect())
        }
        GeoJson::Feature(feature) => {
            let system = reference_system(feature.foreign_members.as_ref())?;
            Ok(vec![outline(&feature).on(system)])
        }
        GeoJson::Geometry(geometry) => {
            let system = reference_system(geometry.foreign_members.as_ref())?;
            Ok(vec![Outline::new(Vec::new(), polygons(Some(&geometry))).on(system)])
        }
    }
}

/// Refuses what an older GeoJSON tells under `crs`, unless it is longitude and latitude on WGS 84 or NAD 83.
fn reference_system(members: Option<&JsonObject>) -> Result<System, String> {
    let Some(crs) = members.and_then(|members| members.get("crs")).filter(|crs| !crs.is_null()) else {
        return Ok(System::Wgs84);
    };
    let name = crs.pointer("/properties/name").and_then(|name| name.as_str()).unwrap_or_default();
    let code = name.rsplit(':').next().unwrap_or_default();
    let of_epsg = |number: &str| name.contains("EPSG") && code == number;
    if (name.contains("CRS") && code.starts_with("CRS84")) || of_epsg("4326") {
        return Ok(System::Wgs84);
    }
    if (name.contains("CRS") && code == "CRS83") || of_epsg("4269") {
        return Ok(System::Nad83);
    }
    Err(format!("expected longitude and latitude on WGS 84, got the reference system `{crs}`; {REPROJECT}"))
}

fn outline(feature: &Feature) -> Outline {
    let properties = feature.properties.iter().flatten().filter_map(|(name, value)| {
        let text = match value {
            serde_json::Value::String(text) => text.clone(),
            serde_json::Value::Number(number) => number.to_string(),
            serde_json::Value::Bool(truth) => truth.to_string(),
            _ => return None,
        };
        Some((name.clone(), text))
    });
    Outline::new(properties.collect(), polygons(feature.geometry.as_ref()))
}

fn polygons(geometry: Option<&Geometry>) -> Result<Polygons, String> {
    let geometry = geometry.ok_or("expected a polygon, got nothing")?;
    let mut out = Polygons::new();
    gather(&geometry.value, DEPTH, &mut out)?;
    Ok(out)
}

fn gather(value: &Value, depth: usize, out: &mut Polygons) -> Result<(), String> {
    let ring = |ring: &Vec<Vec<f64>>| ring.iter().map(|p| Some((*p.first()?, *p.get(1)?))).collect::<Option<Vec<_>>>();
    let mut add = |rings: &Vec<Vec<Vec<f64>>>| {
        let rings: Option<Vec<_>> = rings.iter().map(ring).collect();
        out.push(rings.ok_or("expected points of longitude and latitude")?);
        Ok(())
    };
    match value {
        Value::Polygon(rings) => add(rings),
        Value::MultiPolygon(all) => all.iter().try_for_each(add),
        Value::GeometryCollection(all) if depth > 0 => {
            all.iter().try_for_each(|geometry| gather(&geometry.value, depth - 1, out))
        }
        other => Err(format!("expected a polygon, got a {}", other.type_name())),
    }
}
