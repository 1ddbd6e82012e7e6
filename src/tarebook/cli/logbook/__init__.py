"""How the commands that add to the car file ask, look over, show and write."""
