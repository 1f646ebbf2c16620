"""The 90 % band of a prediction: the models' own error, and the band against drawn floors."""
