"""What the workbench keeps for the browser: uploads and drafts, and the folders of running work."""
