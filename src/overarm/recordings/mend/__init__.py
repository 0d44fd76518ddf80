"""The defects of recordings, one file a defect; each step takes a recording and returns the next one."""
