"""What shots did to the arrows: heads and shafts hurt, and how many shots a head lasts."""
