"""What a photograph shows of a ball: its outline, how far it is from round, and what that means for a limit."""
