"""The schedule: the one record every view gets, and how it is put together."""
