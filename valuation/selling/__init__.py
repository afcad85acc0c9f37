"""What a salesperson says: the customer's sheet, what-if questions, one car beside another."""
