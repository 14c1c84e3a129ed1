DROP TABLE draws;
DROP TABLE bottles;
DROP TABLE lots;
DROP TABLE products;
