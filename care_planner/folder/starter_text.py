"""The text of a new collection's files. Comments in them are the manual that is at hand."""

COLLECTION = """\
# yaml-language-server: $schema=schemas/collection.schema.json
#
# Your collection. Change what is marked CHANGE, then run:  care-planner check FOLDER

site:
  name: My trees                # CHANGE: shown at the top of the calendar
  latitude: 50.8                # CHANGE: degrees, south is negative
  longitude: 4.4                # CHANGE: degrees, west is negative
  elevation_m: 60               # CHANGE
  timezone: Europe/Brussels     # CHANGE: an IANA time zone

  # CHANGE the weather: it decides every date. Three ways, best first.
  # 1. A daily record in this folder, 10 years or more: CSV or CSV.gz with date,tmin_c,tmax_c
  # weather: weather.csv.gz
  # 2. The nearest station of a public archive, fetched once and kept here; or a station's id
  # weather: {meteostat: nearest}
  # 3. Twelve monthly means, January first, when there is nothing better. Those below are rough values
  #    of our own for a mild maritime place in the north: they are NOT your place's. Replace them.
  #    Even with your own, dates may be a week off, and the late frost of one year in ten two weeks.
  weather:
    monthly:
      tmin_c: [1, 1, 3, 5, 9, 12, 14, 14, 11, 8, 4, 2]
      tmax_c: [6, 7, 11, 15, 19, 21, 23, 23, 20, 15, 10, 7]

# Where trees stand. offset_c: warmer (+) or colder (-) than the weather above. A shelter has a floor
# (its air never gets colder) and a vent (it is opened from this temperature on). All in degrees Celsius.
benches:
  open: {}
  shed: {floor_c: 2, vent_c: 8}
  # frost-pocket: {offset_c: -2}

# Favourite weekdays, and days away (first and last day included). Several people: one key for each name.
people:
  days: [sat, sun]
  away: []                      # [{from: 2027-06-05, to: 2027-06-14}]

# The chance of frost damage a season that you accept.
risk: {frost: 0.1}

# One alarm before each day of work; leave it out for none.
# calendar: {alarm_hours_before: 15}

# CHANGE: your trees. id, taxon and bench are needed. What else you know makes the plan better:
#   winter_bench: shed                goal: flowers, vigour or balanced; or {2027: vigour, 2028: flowers}
#   age: young or established         condition: strong or weak
#   size: small or large              count: plants in a tray
#   name: free text                   pot: {litres: 5, depth_cm: 8}
#   acquired: 2026-06-15              known_from: 2027-01-01 (silence before it is not missed work)
#   last_repot: {date: 2025-03-20, roots_removed: 25%, tied_in: true}
#   repot_every_years: 3              season_of_variety: early, mid or late
#   remembered_bloom: {2026: 2026-06-02}   learn: false (its pace is not to be learned from its notes)
#   frost_limit_c: -3 (your own, more careful limit)
#   refined: true                     multicoloured: true                     wired: true
#   until: {date: 2027-04-01, why: sold, lent or dead}
trees:
  - {id: azalea-01, taxon: satsuki-azalea, bench: open, winter_bench: shed, goal: vigour,
     age: established, condition: strong}
  - {id: azalea-02, taxon: satsuki-azalea, bench: open, winter_bench: shed, goal: flowers,
     age: young, condition: strong}
  - {id: maple-01, taxon: japanese-maple, bench: open, goal: balanced, age: established, condition: strong}
  - {id: pine-01, taxon: japanese-black-pine, bench: open, goal: balanced,
     age: established, condition: strong}
"""

JOURNAL = """\
# yaml-language-server: $schema=../schemas/journal.schema.json
#
# What you saw and did. Add entries at the end; take the # and the space after it away to use one.
# tree is an id or a list of ids.
#
# - {date: 2027-05-24, tree: azalea-01, saw: first-flower}
# - {date: 2027-05-30, tree: [azalea-01, azalea-02], saw: {open: 40%}}
# - {date: 2027-05-20, tree: azalea-02, saw: not-yet}
# - {date: 2027-05-24, tree: azalea-01, saw: 60, note: a BBCH code}
# - {date: 2027-03-28, tree: azalea-02, did: repot}
# - {date: 2027-06-12, tree: azalea-01, skipped: prune-after-bloom}
# - {date: 2027-11-20, tree: azalea-01, moved_to: shed}
# - {date: 2027-07-02, tree: maple-01, condition: weak, note: scorched}
"""

RULES = """\
# Your own rules, laid over those that come with care-planner, go into files like this one.
# `care-planner rules FOLDER` shows the rules in force and where each comes from; DEVELOPERS.md shows how
# a rule is written, with an example. A file of comments alone, like this one, changes nothing.
"""
