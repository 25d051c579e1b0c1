"""What each instrument shows of a true reel, and the way back."""
