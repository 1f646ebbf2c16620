"""From surface motion to sound: radiation, the room, hearing."""
