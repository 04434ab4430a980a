"""Rank 5: clause decisions, what would settle them, comparisons.

`tally` counts clauses over draws, `deciding` holds the rule, `judging` judges one product, `settling` simulates what
would settle an undecided clause, `answers` judges yes/no results, `comparing` holds products against each other;
`results` and `comparisons` are the frozen results that all else reads.
"""
