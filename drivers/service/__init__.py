"""What Dryside is to the service manager: unit files, and the words that are sent to it."""
