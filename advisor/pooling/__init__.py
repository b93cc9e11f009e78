"""What many shops' doughs say together of powders and methods."""
