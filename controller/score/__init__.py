"""The score: everything that makes one print, and the plans made from it."""
