"""The screens: a local web app that calls services and shows what they computed."""
