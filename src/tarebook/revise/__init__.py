"""What a later edition of a book changes: clause by clause, by what the rules mean, and for one car."""
