"""The road from an empty database to the tables of today, one step a file under versions/."""
