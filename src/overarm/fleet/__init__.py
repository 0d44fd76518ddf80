"""Fleet studies: many aeroplanes, throwers and winds, each combination flown, in one table."""
