"""The ramp: what the plants have got used to, what each day allows, and the plan that comes of it.

    state -> limits -> table (what each place offers) -> question -> choice -> credit -> state of the next day

`scene` turns garden and forecast into arrays, `capacity` says when the carer can move what, `day` plans one
batch on one date, `plan` folds days, `finish` says when a batch is hardened. `day` and `plan` are generators that
yield questions; `asking` runs many of them in step, `choice` and `search` answer their questions side by side.
"""
