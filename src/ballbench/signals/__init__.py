"""Arrays of sound and of film become events: impacts of a ball, the track of a drop; no files are known here."""
