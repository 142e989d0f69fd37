"""Sun on walls and lid, first part: shares of the horizontal irradiance."""


def wall_irradiance(horizontal_irradiance, sunlit_share):
    """Mean irradiance on the walls as a share of the horizontal value [W/m2]."""
    return horizontal_irradiance * sunlit_share
