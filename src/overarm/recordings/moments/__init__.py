"""The events of a launch, found at the full rate of the channels, each with its standard error."""
