"""The cheapest charge that may be made from a stock: whole lumps and grain, within every limit of alloy and scale."""
