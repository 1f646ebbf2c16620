"""The 90 % band of a prediction: the models' own error, and first order against drawn floors."""
