"""Which competition classes may this car enter, now and as planned."""
