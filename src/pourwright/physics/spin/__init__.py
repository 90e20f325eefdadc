"""The spring-wound arm: energy, speed, head and balance."""
