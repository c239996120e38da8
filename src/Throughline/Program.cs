return 3;
