"""What each question is answered, in words."""
