"""What joins leaves: air, points, mats, edges."""
