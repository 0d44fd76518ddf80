"""What launches and bench tests teach: priors to posteriors, and how good the predictions were."""
