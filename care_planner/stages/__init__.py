"""When each stage of a tree's year is reached, as an array with one date a member."""
