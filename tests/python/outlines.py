"""Writes outlines of fields as other programs do, and measures areas on the WGS 84 ellipsoid with PROJ.

`outlines.py write FOLDER` writes them and prints `name area_m2` a line; `outlines.py areas FILE` prints the same of a
GeoJSON collection that somebody else wrote.
"""

import json
import sys
import zipfile
from pathlib import Path

import pyproj
import shapefile

ELLIPSOID = pyproj.Geod(ellps="WGS84")
WGS84 = pyproj.CRS.from_epsg(4326).to_wkt("WKT1_ESRI")
NAD83 = pyproj.CRS.from_epsg(4269).to_wkt("WKT1_ESRI")
NAD27 = (
    'GEOGCS["NAD27",DATUM["North_American_Datum_1927",SPHEROID["Clarke 1866",6378206.4,294.978698213898],'
    'TOWGS84[-8,160,176,0,0,0,0]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]'
)
UTM = pyproj.CRS.from_epsg(32615).to_wkt("WKT1_ESRI")


def box(west, south, width, height):
    east, north = west + width, south + height
    return [(west, south), (east, south), (east, north), (west, north), (west, south)]


# Half a mile or so; one with a farmstead left out, one of two pieces beside a road, one that is no rectangle.
FIELDS = {
    "North 40": [[box(-93.62, 42.03, 0.0049, 0.0036)]],
    "Home": [[box(-93.61, 42.03, 0.0098, 0.0072), box(-93.607, 42.033, 0.001, 0.0008)]],
    "Creek": [[box(-93.6, 42.04, 0.004, 0.003)], [box(-93.595, 42.04, 0.002, 0.0031)]],
    "Bend": [[[(-93.58, 42.01), (-93.571, 42.012), (-93.569, 42.018), (-93.576, 42.0163), (-93.58, 42.01)]]],
}


def area(polygons):
    total = 0.0
    for outer, *holes in polygons:
        for sign, ring in [(1, outer), *((-1, hole) for hole in holes)]:
            lons, lats = zip(*(point[:2] for point in ring))
            total += sign * abs(ELLIPSOID.polygon_area_perimeter(lons, lats)[0])
    return total


def shapes(path, fields, system, project=lambda ring: ring):
    with shapefile.Writer(str(path), shapeType=shapefile.POLYGON) as writer:
        writer.field("FLD_NM", "C", 40)
        writer.field("OWNER", "C", 40)
        for name, polygons in fields.items():
            # A shapefile's outer rings run clockwise, its holes the other way.
            rings = []
            for outer, *holes in polygons:
                rings.append(project(outer)[::-1])
                rings.extend(project(hole) for hole in holes)
            writer.poly(rings)
            writer.record(name, "Sorrel Creek")
    if system:
        path.with_suffix(".prj").write_text(system)


def collection(fields, turn=False):
    features = []
    for name, polygons in fields.items():
        rings = [[ring[::-1] if turn else ring for ring in polygon] for polygon in polygons]
        many = len(rings) > 1
        geometry = {"type": "MultiPolygon" if many else "Polygon", "coordinates": rings if many else rings[0]}
        features.append({"type": "Feature", "properties": {"name": name, "grower": "Sorrel Creek"}, "geometry": geometry})
    return {"type": "FeatureCollection", "features": features}


def kml(fields):
    def ring(kind, points):
        text = " ".join(f"{lon},{lat},0" for lon, lat in points)
        return f"<{kind}><LinearRing><coordinates>\n{text}\n</coordinates></LinearRing></{kind}>"

    marks = []
    for name, polygons in fields.items():
        bodies = "".join(
            "<Polygon>" + ring("outerBoundaryIs", outer) + "".join(ring("innerBoundaryIs", h) for h in holes) + "</Polygon>"
            for outer, *holes in polygons
        )
        data = '<ExtendedData><Data name="grower"><value>Sorrel &amp; Creek</value></Data></ExtendedData>'
        marks.append(f"<Placemark><name>{name}</name>{data}<MultiGeometry>{bodies}</MultiGeometry></Placemark>")
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder>'
    return head + "".join(marks) + "</Folder></Document></kml>\n"


def write(folder):
    shapes(folder / "fields.shp", FIELDS, WGS84)
    shapes(folder / "nad83.shp", FIELDS, NAD83)
    shapes(folder / "nad27.shp", FIELDS, NAD27)
    to_utm = pyproj.Transformer.from_crs(4326, 32615, always_xy=True)
    utm = lambda ring: [to_utm.transform(*point) for point in ring]
    shapes(folder / "utm.shp", FIELDS, UTM, utm)
    shapes(folder / "untold.shp", FIELDS, None, utm)
    (folder / "fields.geojson").write_text(json.dumps(collection(FIELDS)))
    # Rings the wrong way round, as RFC 7946 says readers should bear.
    (folder / "turned.geojson").write_text(json.dumps(collection(FIELDS, turn=True)))
    old = collection(FIELDS) | {"crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26915"}}}
    (folder / "projected.geojson").write_text(json.dumps(old))
    (folder / "fields.kml").write_text(kml(FIELDS))
    with zipfile.ZipFile(folder / "fields.kmz", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("doc.kml", kml(FIELDS))
    for name, polygons in FIELDS.items():
        print(f"{name.replace(' ', '-')} {area(polygons):.3f}")


def areas(path):
    for feature in json.loads(Path(path).read_text())["features"]:
        geometry = feature["geometry"]
        polygons = [geometry["coordinates"]] if geometry["type"] == "Polygon" else geometry["coordinates"]
        for rings in polygons:
            assert all(ring[0] == ring[-1] for ring in rings), "rings are closed"
        print(f"{feature['properties']['name']} {area(polygons):.3f}")


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write(Path(sys.argv[2]))
    else:
        areas(sys.argv[2])
