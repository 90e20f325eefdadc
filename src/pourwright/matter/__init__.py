"""What metals, moulds and pattern materials are like, and what practice and safety say: tables with sources."""
