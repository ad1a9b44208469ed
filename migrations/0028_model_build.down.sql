alter table model drop column wheel_mm, drop column stanchion_mm, drop column crowns, drop column steerer, drop column axle;
