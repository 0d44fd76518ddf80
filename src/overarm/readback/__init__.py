"""What the aircraft reports, compared with the sheet: settings and route points.

The aircraft's names are tied to the keys of the settings card by a mapping file that the builder
writes; no mapping for any product is shipped.
"""
