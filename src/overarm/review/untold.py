"""What a launch comes to that has no outcome: nobody can tell it, or the throw was broken off."""

CANNOT_TELL = "cannot tell"
ABORTED = "aborted throw"
