DROP TABLE trail;
DROP TABLE keeping;
