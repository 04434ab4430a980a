"""The interface for programs, a module a topic: a request goes to one workflow, and its answer is JSON."""
