"""Prints the codes of ISO 3166-2 of the United States and Canada, one a line, as pycountry has them."""

import pycountry

for country in ("US", "CA"):
    for region in pycountry.subdivisions.get(country_code=country):
        print(region.code)
