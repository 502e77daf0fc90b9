"""What the user says: value classes, reading, checking. Knows nothing of physics."""
