"""The interface of the workbench, one file a room; described by OpenAPI at /api/openapi.json."""
