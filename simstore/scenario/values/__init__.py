"""What the user says, as frozen values."""
