System.Console.WriteLine("hello");
return 0;
