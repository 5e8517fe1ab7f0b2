"""The sun: where it stands, what of it reaches a spot, how much light that is.

Reading order: `position` (the sun and the clear sky), `rays` (what stands in a ray's way), `seen` (spots told by
the times the sun was seen), `sky_view`, `variants` (the spot a little moved), `geometry` (share of the beam; the
door to the three before it), `radiation` (a forecast's missing radiation), `light` (hours of direct sun, mol of
light), `windows` (one day at a spot).
"""
