#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Negative control of the screening of the crop, on a real yield log of a field without drip lines.

Laterals are invented over it in 8 bearings, 3 spacings and 2 shifts. The crop cannot follow what was
never there: a place told to follow laterals or a zone is false. Prints one line for each layout, each
false place in words, and the count; ends with 1 if more than 5 % of the layouts have one.

usage: crop_control.py EVENDRIP LOG [--zones N] [--only BEARING:SPACING:SHIFT ...]
  EVENDRIP  the program
  LOG       gartner.corn of the R package agridat (University of Minnesota Precision Agriculture
            Center, CC BY-SA 3.0) as text with tabs: long, lat, mass (lb/s), time (s), seconds,
            dist (in), moist (%), elev (ft); header 360 in wide. It is not part of this repository.
"""
import argparse
import csv
import json
import math
import pathlib
import subprocess
import sys
import tempfile

BEARINGS = [22.5 * k for k in range(8)]  # the passes of the log run at 1 degree
SPACINGS_M = [1.0, 1.5, 3.0]
SHIFTS = [0.0, 0.5]  # of a spacing, across the laterals
MOST_FALSE = 0.05
DEGREE_M = 111_200.0  # of latitude, near enough to lay an outline out
COLUMNS = {"long": "lon", "mass": "mass_flow_lb_s", "time": "time_s", "seconds": "duration_s",
           "dist": "distance_in", "moist": "moisture_pct"}


def supply_side(bearing):
    """A side that the ends of such laterals face."""
    return "west" if 45 < bearing % 180 < 135 else "south"


def places_of(log):
    with open(log, encoding="utf-8") as file:
        return [(float(row["long"]), float(row["lat"])) for row in csv.DictReader(file, delimiter="\t")]


def outlines(places, zones, shift_m, bearing):
    """Zones side by side over the log, moved across the laterals."""
    west, east = min(p[0] for p in places), max(p[0] for p in places)
    south, north = min(p[1] for p in places), max(p[1] for p in places)
    across = math.radians(bearing + 90)
    east_m = DEGREE_M * math.cos(math.radians((south + north) / 2))
    dx, dy = shift_m * math.sin(across) / east_m, shift_m * math.cos(across) / DEGREE_M
    shapes = []
    for k in range(zones):
        left = west + (east - west) * k / zones + dx
        right = west + (east - west) * (k + 1) / zones + dx
        low, high = south + dy, north + dy
        ring = [[left, low], [right, low], [right, high], [left, high], [left, low]]
        shapes.append({"type": "Feature", "properties": {"id": f"Z{k + 1}"},
                       "geometry": {"type": "Polygon", "coordinates": [ring]}})
    return {"type": "FeatureCollection", "features": shapes}


def field_toml(bearing, spacing_m, zones):
    columns = "".join(f'{heading} = "{ours}"\n' for heading, ours in COLUMNS.items())
    return f"""[field]
name = "Invented lines"
crs = "auto"
[layers]
zones = "zones.geojson"
[emitter]
discharge = "1 L/h"
pressure = "100 kPa"
spacing = "0.5 m"
first_offset = "0.25 m"
[lateral]
spacing = "{spacing_m} m"
[lateral_layout]
bearing = {bearing}
spacing = "{spacing_m} m"
supply_side = "{supply_side(bearing)}"
{"".join(f'[[zone]]{chr(10)}id = "Z{k + 1}"{chr(10)}' for k in range(zones))}[[crop]]
id = "maize"
kind = "yield"
file = "log.tsv"
date = 2011-11-05
moisture_basis = "15.5 %"
swath = "360 in"
crop = "maize"
[columns]
{columns}"""


def heard(program, log, places, layout, zones, folder):
    bearing, spacing_m, shift = layout
    (folder / "log.tsv").write_bytes(pathlib.Path(log).read_bytes())
    (folder / "zones.geojson").write_text(json.dumps(outlines(places, zones, shift * spacing_m, bearing)))
    (folder / "field.toml").write_text(field_toml(bearing, spacing_m, zones))
    done = subprocess.run([program, "-q", "crop", str(folder), "--json"], stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)["layers"][0]


def main():
    parser = argparse.ArgumentParser(description="Negative control of the screening of the crop.")
    parser.add_argument("program")
    parser.add_argument("log")
    parser.add_argument("--zones", type=int, default=1)
    parser.add_argument("--only", nargs="*", help="BEARING:SPACING:SHIFT")
    options = parser.parse_args()
    layouts = [(b, s, h) for b in BEARINGS for s in SPACINGS_M for h in SHIFTS]
    if options.only:
        layouts = [tuple(float(part) for part in text.split(":")) for text in options.only]
    program = str(pathlib.Path(options.program).resolve())
    places = places_of(options.log)
    false = 0
    for layout in layouts:
        with tempfile.TemporaryDirectory() as folder:
            layer = heard(program, options.log, places, layout, options.zones, pathlib.Path(folder))
        look = layer["look_first"]
        water = [p for p in look if p["shape"] in ("follows_laterals", "follows_zone")]
        false += bool(water)
        print(f"bearing {layout[0]:5.1f} spacing {layout[1]:g} m shift {layout[2]:g}: {len(water)} follow laterals or "
              f"a zone, {sum(p['shape'] == 'ignores_laterals' for p in look)} ignore laterals, "
              f"{sum(p['shape'] == 'not_told' for p in look)} not told "
              f"({sum(p['at_field_limit'] for p in look)} at a limit, "
              f"{sum(p['runs_with_passes'] for p in look)} along passes)", flush=True)
        for place in water:
            print(f"    p {place['shape_p']:.2f}: {place['told']}", flush=True)
    share = false / len(layouts)
    print(f"layouts with a place told to follow what is not there: {false} of {len(layouts)} "
          f"({100 * share:.1f} %; promised: at most {100 * MOST_FALSE:.0f} %)")
    return 1 if share > MOST_FALSE else 0


if __name__ == "__main__":
    sys.exit(main())
