// A small pattern in the style of the time, made up for the tests: in row 5 one number is misprinted.

export const PATTERN = `A LITTLE POINTED EDGE.

Cast on 7 stitches.

1st row.--Knit 3, make 1, knit 2 together, make 1, knit 2.

2nd row.--Knit 8.

3rd row.--Knit 3, make 1, knit 2 together, knit 1, make 1, knit 2.

4th row.--Knit 9.

5th row.--Knit 3, make 1, knit 2 together, knit 3, make 1, knit 2.

6th row.--Knit 10.

7th row.--Knit 3, make 1, knit 2 together, knit 5.

8th row.--Cast off 3, knit 6.
`;
