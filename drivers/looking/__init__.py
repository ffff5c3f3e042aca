"""Looking at what is there. Nothing here switches anything, and nothing raises."""
