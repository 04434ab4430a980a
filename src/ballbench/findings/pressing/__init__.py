"""How far balls give way on one press, which make gives way more, and what that means for a limit."""
