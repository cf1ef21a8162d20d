"""What a coach does with the judge's answers: reviews, weak spots, what to play again, racks for a lesson."""
