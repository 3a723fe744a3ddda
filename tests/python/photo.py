"""Writes a JPEG with time and place in its EXIF, by Pillow, and says what Pillow reads of it again.

Usage: photo.py FILE SEED TIME OFFSET LATITUDE LONGITUDE, TIME as `2026:06:12 09:40:00`; with `-` for TIME without any EXIF.
"""

import json
import random
import sys

from PIL import ExifTags, Image


def parts(degrees):
    """Degrees, minutes, seconds, as a camera writes them."""
    degrees = abs(degrees)
    minutes = degrees % 1 * 60
    return int(degrees), int(minutes), round(minutes % 1 * 60, 2)


file, seed, time, offset, latitude, longitude = sys.argv[1:]
noise = random.Random(int(seed)).randbytes(320 * 240 * 3)
image = Image.frombytes("RGB", (320, 240), noise)
exif = Image.Exif()
if time != "-":
    taken = exif.get_ifd(ExifTags.IFD.Exif)
    taken[ExifTags.Base.DateTimeOriginal] = time
    taken[ExifTags.Base.OffsetTimeOriginal] = offset
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef] = "N" if float(latitude) >= 0 else "S"
    gps[ExifTags.GPS.GPSLatitude] = parts(float(latitude))
    gps[ExifTags.GPS.GPSLongitudeRef] = "E" if float(longitude) >= 0 else "W"
    gps[ExifTags.GPS.GPSLongitude] = parts(float(longitude))
image.save(file, "JPEG", quality=90, exif=exif)

with Image.open(file) as again:
    again.load()
    read = again.getexif().get_ifd(ExifTags.IFD.Exif)
    print(json.dumps({"format": again.format, "time": read.get(ExifTags.Base.DateTimeOriginal)}))
