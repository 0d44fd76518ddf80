"""A plan as files for maps and receivers: GeoJSON, KML, GPX."""
