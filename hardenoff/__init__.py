"""hardenoff: a hardening-off scheduler driven by weather forecasts.

The way of the data, which is also the reading order (each arrow is a direction of imports):

    provider's reply -> forecast (hours) -> sun (light at each spot) -+-> ramp -> schedule -> views
                                         -> night (lows, with odds) --+
    garden.toml -> garden (records) ----------------------------------+
    its journal -> journal (what was really done) --------------------+

`records` holds the frozen words all of them share, `tables` the numbers with unit and source.
The core is pure: no clock, network, files or printing. Those live in `cli`, `garden`, `fetch`, `keep`
and the journal's file.
"""

__version__ = "0.1.0"
