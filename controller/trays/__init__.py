"""What happens to prints after the light: kept sheet by sheet; batches cleared, toned, washed."""
