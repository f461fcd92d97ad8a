"""What did they write, and where? Text in, checked values that know their place out."""
