"""What the processes of the workbench do, one file a room: options and files in, an answer out."""
