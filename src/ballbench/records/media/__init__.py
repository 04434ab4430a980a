"""What a phone records: a sound, a photograph, a clip, each as arrays with what is known of how it was taken.

`recording_file.py` is the door: what a file is, by its first bytes and not by its name. Whatever cannot be used raises
`BadRecording` with the reason and what to do; memory stays bounded whatever a file claims of itself.
"""
