"""Launches and cells of a fleet study on the workers of a Dask cluster; the answers are the same bytes."""
