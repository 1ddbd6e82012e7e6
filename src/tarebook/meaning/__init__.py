"""What conditions mean: exact reasoning over every case that they can tell apart, and conditions in plain words."""
