"""Views: one schedule in, text or JSON out. They put into words and compute nothing; same input, same bytes.

words        units, dates and times as people read them
terminal     headings, paragraphs and tables as one string of a given width
answers, why, strip, footer   the parts of the morning check
today, tonight, plan (plan_rows)   the three views of a schedule
sun, hours, report, log   a spot's sun; the forecast as read; what `check` found; the journal
as_json, json_parts   the same for programs; the schemas are in `hardenoff/schemas`
"""
