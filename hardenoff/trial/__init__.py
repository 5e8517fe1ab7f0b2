"""Past weather lived through again: the planner against the chart on the wall, day by day, with what it cost.

    weather (a file's hours) -> season (as the spots had it) -> error (what each morning's forecast said)
      -> players (planner, charts, straight out) -> step (one date of every run) -> harm -> compare

Nothing of a coming day reaches a player but that morning's forecast; what a day gave is read from the weather as
it was.
"""
