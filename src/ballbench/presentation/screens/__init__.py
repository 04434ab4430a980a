"""The pages of the bench: each page's data as a frozen dataclass, and the function that writes it as HTML."""
