"""A recipe as it stands, held against every demand."""
